"""Files written whole or not at all, and read only where they are files."""

from __future__ import annotations

import errno
import os
import re
import secrets
import shutil
import stat
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from pathlib import Path
from types import MappingProxyType
from typing import Final

try:
    import fcntl
except ImportError:  # no locks here: then what a killed run left stays
    fcntl = None  # type: ignore[assignment]

WORKSPACE: Final = "company.yaml"
"""What the folder of a workspace holds."""


# ------------------------------------------------------------ read


_UNSAVED: Final = ContextVar[Mapping[str, bytes]]("_UNSAVED", default=MappingProxyType({}))


@contextmanager
def unsaved(texts: Mapping[Path, bytes]) -> Iterator[None]:
    """While this is active, these files read as these bytes, as somebody is writing them; the disk is left as it is.

    It holds for this thread's context alone. A file that is not on the disk is not listed in its folder either.
    """
    token = _UNSAVED.set({**_UNSAVED.get(), **{os.path.realpath(path): text for path, text in texts.items()}})
    try:
        yield
    finally:
        _UNSAVED.reset(token)


def _unsaved(path: Path) -> bytes | None:
    texts = _UNSAVED.get()
    return texts.get(os.path.realpath(path)) if texts else None


def size_read(path: Path) -> int:
    """How many bytes a file has to read. Raises OSError."""
    text = _unsaved(path)
    return path.stat().st_size if text is None else len(text)


def read_ordinary(path: Path, most: int) -> bytes:
    """The file's bytes, up to `most`. Raises OSError, for a pipe, a device or a socket before it is opened."""
    text = _unsaved(path)
    if text is not None:
        return text[:most]
    ordinary(path)
    with path.open("rb") as file:
        return file.read(most)


def ordinary(path: Path) -> int:
    """The size of a plain file. Raises OSError for another kind: it may never end, or wait for somebody to write."""
    found = path.stat()
    if stat.S_ISDIR(found.st_mode):
        raise IsADirectoryError(errno.EISDIR, "this is a folder", str(path))
    if not stat.S_ISREG(found.st_mode):
        raise OSError(errno.EINVAL, "this is not an ordinary file", str(path))
    return found.st_size


# ------------------------------------------------------------ write


class FileChanged(OSError):
    """Another program wrote the file meanwhile; it was left as it is."""


def write_whole(
    target: Path, content: bytes, within: Path | None = None, *, new: bool = False, was: bytes | None = None
) -> None:
    """Write `content` beside `target` and rename it into place; leaves nothing half-written. Raises OSError.

    A file that is there keeps its mode. A link is written through, but not out of `within`: left out, that is the
    workspace the file lies in, or its own folder. Nothing may be in the place of a `new` one. `was`: what the file must
    still hold at the last moment before; raises FileChanged where it does not.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    mode = None
    if not new:
        target = followed(target, within or _home(target))
        if target.exists():
            ordinary(target)
            mode = stat.S_IMODE(target.stat().st_mode)
    with beside(target) as part:
        with part.open("xb") as file:
            if mode is not None:
                os.chmod(part, mode)  # before there is anything in it to read
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if new:
            place_new(part, target)
            return
        lock = _locked(target.parent)  # two of us that look at the same instant would both see what was
        try:
            if was is not None and not _still(target, was):
                raise FileChanged(errno.EBUSY, "another program changed it meanwhile", str(target))
            os.replace(part, target)
        finally:
            os.close(lock)


def _still(target: Path, was: bytes) -> bool:
    """Whether the disk's own file holds this and nothing else."""
    try:
        ordinary(target)
        return target.read_bytes() == was
    except OSError:
        return False


def followed(target: Path, within: Path) -> Path:
    """Where a link leads; any other path as it is. Raises OSError where it leads out of `within`."""
    if not target.is_symlink():
        return target
    try:
        end = target.resolve()
    except RuntimeError:
        end = target
    if end.is_symlink():
        raise OSError(errno.ELOOP, "its links lead back to it", str(target))
    if not end.is_relative_to(within.resolve()):
        raise OSError(errno.EPERM, f"it is a link that leads out of `{within}`, and nothing may go there", str(target))
    return end


def place_new(part: Path, target: Path) -> None:
    """Move a file into a place where nothing is. Raises FileExistsError: unlike a rename, a link covers nothing."""
    try:
        os.link(part, target)
    except FileExistsError:
        raise
    except OSError:  # a disk without links
        if os.path.lexists(target):
            raise FileExistsError(errno.EEXIST, "it is there already", str(target)) from None
        os.rename(part, target)


def _home(target: Path) -> Path:
    folder = target.absolute().parent
    return next((one for one in (folder, *folder.parents) if os.path.lexists(one / WORKSPACE)), folder)


# ------------------------------------------------------------ beside
# What is being made lies in a folder of its own beside its place, which is locked as long as somebody makes it.

_PART: Final = re.compile(r"\.planner-[0-9a-f]{16}\.part")


@contextmanager
def beside(target: Path, folder: Path | None = None) -> Iterator[Path]:
    """A place to make `target` in, on the same disk: in a folder beside it, or in `folder`, that is gone in the end.

    What a killed run left there is taken away first.
    """
    place = target.parent if folder is None else folder
    clear(place)
    part, handle = _locked_folder(place)
    try:
        yield part / target.name
    finally:
        shutil.rmtree(part, ignore_errors=True)
        os.close(handle)


def clear(place: Path) -> None:
    """Take away what killed runs left in a folder; what another run is making just now is locked."""
    if fcntl is None:
        return
    for name in [name for name in os.listdir(place) if _PART.fullmatch(name)]:
        with suppress(OSError):
            handle = os.open(place / name, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                shutil.rmtree(place / name, ignore_errors=True)
            finally:
                os.close(handle)


def _locked_folder(place: Path) -> tuple[Path, int]:
    """A new folder and its lock's handle. One that was cleared away before it was locked is made anew."""
    while True:
        part = place / f".planner-{secrets.token_hex(8)}.part"
        part.mkdir()
        with suppress(FileNotFoundError):
            handle = _locked(part)
            if part.is_dir():
                return part, handle
            os.close(handle)


def _locked(folder: Path) -> int:
    if fcntl is None:
        return os.open(os.devnull, os.O_RDONLY)
    handle = os.open(folder, os.O_RDONLY)
    with suppress(OSError):  # a disk without locks
        fcntl.flock(handle, fcntl.LOCK_EX)
    return handle
