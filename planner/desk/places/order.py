"""The order of a day's jobs: two of them swap their numbers, with all that goes by their names, or nothing is changed.

A job's name is what its packets, its record and other jobs know it by. So nothing is renamed that somebody may look
for under the name it has, and what cannot be told is taken for yes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from flask import Flask, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from planner.days.archiving import address_of
from planner.desk import day_place
from planner.desk.files import Sheet
from planner.desk.frame import around
from planner.desk.places import drives
from planner.desk.places.drives import Refused
from planner.desk.state import Desk
from planner.inputs.reading.files import in_working_order, is_folder, listed_files, read_file
from planner.inputs.reading.tree import LARGEST_FILE
from planner.inputs.shelf import Desk as Shelf
from planner.writing import place_new, read_ordinary, unsaved, write_whole


class OnPaper(Refused):
    """The same where papers know one of the jobs by its name."""


def add(app: Flask, desk: Desk) -> None:
    """The routes of this place."""

    @app.post("/order/<id_>")
    def order(id_: str) -> AnyResponse | tuple[str, int]:
        """One job a place earlier or later."""
        with desk.lock:
            folder = desk.day_of(id_)
            way, _, job = request.form.get("do", "").partition(" ")
            sheet = desk.files.sheet(job)
            if (
                folder is None
                or sheet is None
                or sheet.kind != "job"
                or sheet.path.parent != folder
                or way not in ("up", "down")
            ):
                abort(404)
            try:
                new = swapped(desk, folder, sheet.path, -1 if way == "up" else 1)
            except Refused as refused:
                answer = desk.answer(folder, whole=True)
                found = {**day_place.values(desk, folder, answer, str(refused)), **around(desk, answer, "day")}
                return render_template("day.html", **found), 409
            return redirect(url_for("day", id_=id_, _anchor=f"order-{desk.files.id_of(new)}"), 303)


def swapped(desk: Desk, folder: Path, path: Path, by: int) -> Path:
    """A job swapped with the one before or after it; its new name. Raises Refused, and then nothing is changed."""
    paths = in_working_order(folder)
    here = paths.index(path)
    if not 0 <= here + by < len(paths):
        return path
    other = paths[here + by]
    _look(desk, folder, path, other)
    names, said = _free_names(desk, folder, paths, path, other, by)
    page = desk.files.of(folder / "day.yaml")
    now = [names.get(one, one) for one in paths]
    after = [one.stem for one in sorted(now, key=_place)]
    texts, asked = drives.page_texts(desk, page, {old.stem: names.get(old, old).stem for old in paths}, after)
    _rename(desk, names, page, texts[0] if texts is not None else None)
    drives.take(page, texts, f"The order changed. {said}".strip(), asked)
    desk.files.renamed(names)
    kept = {new: desk.kept.pop(old) for old, new in names.items() if old in desk.kept}
    desk.kept.update(kept)
    return names.get(path, path)


def _free_names(
    desk: Desk, folder: Path, paths: Sequence[Path], path: Path, other: Path, by: int
) -> tuple[dict[Path, Path], str]:
    """New names that change the order, and what to say of it: the two swap their numbers, or where papers know one of
    them by its name, the other takes a free number past it. Raises Refused."""
    names = _new_names(paths, path, other)
    try:
        known(desk, folder, names, "the order stays as it is")
        return names, ""
    except OnPaper:
        for moved, stays, way in ((path, other, by), (other, path, -by)):
            past = _past(paths, moved, stays, way)
            try:
                if past is not None:
                    known(desk, folder, past, "the order stays as it is")
                    return past, f"If {stays.stem} is printed, print it again: its times may differ."
            except OnPaper:
                continue
    raise Refused(
        "Papers know both of these jobs by their numbers, so neither is renamed. Move another job of the day, or add "
        "this work once more as a new job with the number you need."
    )


def _past(paths: Sequence[Path], moved: Path, stays: Path, by: int) -> dict[Path, Path] | None:
    """A number for one job that puts it just past another; None where none is free."""
    at = paths.index(stays)
    here = _place(stays)[0]
    beyond = _place(paths[at + by])[0] if 0 <= at + by < len(paths) else here + 20 if by > 0 else 0
    number = (here + beyond) // 2 if abs(beyond - here) > 1 else None
    rest = moved.name.partition("-")[2]
    return {moved: moved.with_name(f"{number:02d}-{rest}")} if number is not None else None


def _new_names(paths: Sequence[Path], one: Path, other: Path) -> dict[Path, Path]:
    """Both files' new names. Raises Refused where they would not come to stand in each other's place."""

    def parts(path: Path) -> tuple[str, str]:
        number, _, rest = path.name.partition("-")
        return number, rest

    (first, rest), (second, others) = parts(one), parts(other)
    names = {one: one.with_name(f"{second}-{rest}"), other: other.with_name(f"{first}-{others}")}
    wanted = [{one: other, other: one}.get(path, path) for path in paths]
    after = sorted(paths, key=lambda path: _place({path: path, **names}[path]))
    if after != wanted:
        raise Refused("Two jobs of this day have one number. Give each a number of its own in its file's name.")
    return names


def _place(path: Path) -> tuple[int, str]:
    """What a file's place in the day hangs on."""
    return int(path.name.partition("-")[0][:9]), path.name


# ------------------------------------------------------------ refused


def _look(desk: Desk, folder: Path, *paths: Path) -> None:
    """Refuse while a text is in dispute, or a file is a link."""
    for path in (*paths, folder / "day.yaml"):
        sheet = desk.files.of(path)
        if path.is_symlink():
            raise Refused(f"{path.name} is a link to another file. Rename it where it is.")
        if sheet is not None and sheet.theirs is not None:
            raise Refused(f"There are two texts of {sheet.name}. Choose one first.")


def known(desk: Desk, folder: Path, names: Mapping[Path, Path], so: str) -> None:
    """Refuse where anything goes by one of the names, old or new; `so` is what comes of it. Raises Refused."""
    stems = list(dict.fromkeys(path.stem for path in (*names, *names.values())))
    for path in listed_files(folder):
        bare = path.name.casefold().lstrip(".#")  # an editor that has it open keeps a file beside it
        stem = next((one for one in stems if bare.startswith(f"{one.casefold()}.")), None)
        if stem is not None and path not in names:
            raise Refused(f"{path.name} lies beside, and goes by the name {stem}, so {so}.")
    named = [f"{folder.name}/{stem}" for stem in stems]
    for said in _named_elsewhere(desk, folder, stems, names):
        raise Refused(f"{said}. A job that is named elsewhere keeps its name, so {so}.")
    for name in sorted(_archived(desk, named, so)):
        what = "is printed or on record already" if name in {f"{folder.name}/{path.stem}" for path in names} else (
            "is the name of a job that was printed or recorded before")  # fmt: skip
        raise OnPaper(f"{name} {what}, and its papers know it by this name, so {so}.")


def _named_elsewhere(desk: Desk, folder: Path, stems: Sequence[str], names: Mapping[Path, Path]) -> Iterator[str]:
    """Files that name one of the jobs: other jobs' `like`, and what was written down of them."""
    meant = {(folder.name, stem): f"{folder.name}/{stem}" for stem in stems}
    with unsaved(desk.files.unsaved()):
        for day in desk.files.days():
            for path in in_working_order(day):
                tree = read_file(path)
                node = tree.mapping.get("like")
                if tree.root is None:
                    # What nobody can read may name anything.
                    text = _bytes(path)
                    found = next((stem for stem in stems if text is None or stem.encode() in text), None)
                    if found is not None and path not in names:
                        yield f"{day.name}/{path.name} cannot be read, and may be like {found}"
                elif node is not None and isinstance(node.value, str):
                    words = node.value.strip().split("/")
                    stem = re.sub(r"\.ya?ml$", "", words[-1])
                    name = meant.get((words[0] if len(words) > 1 else day.name, stem))
                    if name is not None:
                        yield f"{day.name}/{path.stem} is like {name}"
    yield from _written_down(desk.files.folder / "records", list(meant.values()))


def _written_down(records: Path, named: Sequence[str]) -> Iterator[str]:
    """Files in the folder of records that are of one of the jobs, by their names or by what is in them."""
    for path in listed_files(records) if is_folder(records) else ():
        if is_folder(path):
            if path.is_symlink():  # it may lead back, or over the whole disk
                yield f"{records.name}/{path.name} is a link to a folder, and may hold a record of {named[0]}"
            else:
                yield from _written_down(path, named)
            continue
        text = _bytes(path)
        for name in named:
            if name.replace("/", "-") in path.name or text is None or name.encode() in text:
                yield f"{records.name}/{path.name} is a record of {name}"


def _bytes(path: Path) -> bytes | None:
    try:
        return read_ordinary(path, LARGEST_FILE + 1)
    except OSError:
        return None


def _archived(desk: Desk, named: Sequence[str], so: str) -> set[str]:
    """Those of the jobs that the archive knows. Raises Refused where it cannot be asked."""
    from planner.archive.kept import opening, store
    from planner.archive.kept.refused import ArchiveRefused

    company = Shelf(desk.files.folder).company.value
    if company is None:
        raise Refused(f"company.yaml cannot be read, so nobody knows what is printed: {so}.")
    try:
        with opening.opened(address_of(company), desk.files.folder, write=False) as archive:
            return store.known_of(archive, named)
    except ArchiveRefused as refused:
        if refused.fault.code == "archive.missing":
            return set()
        why = refused.fault.message.replace("`", "")
    except Exception as error:
        why = type(error).__name__
    raise Refused(f"The archive cannot be asked what is printed ({why}), so {so}.")


# ------------------------------------------------------------ rename


def _rename(desk: Desk, names: Mapping[Path, Path], page: Sheet | None, text: bytes | None) -> None:
    """Rename the files and write the day's page, all or nothing. Raises Refused."""
    moves = list(names.items())
    if len(moves) > 1 and moves[0][1] == moves[1][0]:  # but for their numbers they are called alike: one steps aside
        (one, new), (other, last) = moves
        aside = one.with_name(one.name.replace("-", "-moving-", 1))  # still a job, should this be cut off
        moves = [(one, aside), (other, last), (aside, new)]
    done: list[tuple[Path, Path]] = []
    try:
        for old, new in moves:
            moved_to(old, new)
            done.append((old, new))
        if page is not None and text is not None and text != page.base:
            write_whole(page.path, text, desk.files.folder, was=page.base)
    except OSError as error:
        left = [new.name for old, new in reversed(done) if not _back(old, new)]
        why = f"The files could not be renamed: {error.strerror or error}."
        raise Refused(f"{why} {f'Look for {left}.' if left else 'All is as it was.'}") from None


def moved_to(old: Path, new: Path) -> None:
    """Give a file another name, where nothing has it yet. Raises OSError, and then it has its old one."""
    place_new(old, new)
    try:
        old.unlink(missing_ok=True)  # a disk without links has moved it already
    except OSError:
        new.unlink(missing_ok=True)
        raise


def _back(old: Path, new: Path) -> bool:
    try:
        moved_to(new, old)
    except OSError:
        return False
    return True
