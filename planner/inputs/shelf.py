"""Everything of one workspace that jobs share, read once: the company, the shelf, the surfaces, the rigs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import field, replace
from pathlib import Path
from typing import Any, Generic, TypeVar

from planner.faults import Fault
from planner.frozen import dataclass
from planner.inputs.hours import with_hours
from planner.inputs.joining.learned import NAME as LEARNED
from planner.inputs.joining.learned import learned_slips, without_empty
from planner.inputs.joining.walls import heel_strength, resolved
from planner.inputs.models import Company, Day, Job, Learned, Rig, Stock, SurfaceRow, SurfaceTable, Written, YardJob
from planner.inputs.models.base import Slip, listed, nearest
from planner.inputs.reading.files import (
    YAML_ENDINGS,
    file_fault,
    is_there,
    listed_files,
    meant_as_yaml,
    plain_name,
    read_file,
    right_ending,
)
from planner.inputs.reading.like import merged
from planner.inputs.reading.names import day_slips, job_slips, rig_slips, yard_slips
from planner.inputs.reading.places import Refused, faults_of, made
from planner.inputs.reading.tree import Node, Tree
from planner.inputs.tables.chemicals import CHEMICALS
from planner.inputs.tables.whole import limits_with, row_slips, surface_rows, with_own_rows

Made = TypeVar("Made", bound=Written)


@dataclass(frozen=True, slots=True, kw_only=True)
class Document(Generic[Made]):
    """One file as a model: `sound` where nothing at all is wrong with it, `root` None where it is not there."""

    value: Made | None
    root: Node | None
    sound: bool
    refused: Refused = field(default_factory=Refused)

    @property
    def raw(self) -> Mapping[str, Any] | None:
        """As written, None where it could not be parsed."""
        return self.root.plain() if self.root is not None else None


@dataclass(frozen=True, slots=True, kw_only=True)
class JobDocument:
    """A job and the rig it is for."""

    document: Document[Job] | Document[YardJob]
    rig: Document[Rig] | None


SHARED = ("company.yaml", "stock.yaml", "surfaces.yaml", LEARNED)
"""What every job of a workspace shares, at its top."""


class Desk:
    """One workspace: reads each file once and keeps every fault found in it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.faults: list[Fault] = []
        self._rigs: dict[Path, Document[Rig]] = {}
        self._trees: dict[Path, Tree] = {}
        self._told: set[Path] = set()
        self.company: Document[Company] = self._document(Company, folder / "company.yaml")
        self.stock: Document[Stock] = self._document(Stock, folder / "stock.yaml", optional=True)
        self.surfaces: Document[SurfaceTable] = self._document(SurfaceTable, folder / "surfaces.yaml", optional=True)
        self.learned: Document[Learned] = self._learned(folder / LEARNED)
        self._misnamed()
        self.limits: Mapping[str, float] | None = None
        self.rows: Mapping[str, SurfaceRow] | None = None
        self._lay_over()

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong with what every job needs."""
        return self.company.sound and self.stock.sound and self.surfaces.sound and self.learned.sound

    def _misnamed(self) -> None:
        """Shared files under a name that is not read, which would be taken as not written."""
        for path in listed_files(self.folder):
            right = right_ending(path).name.casefold()
            if meant_as_yaml(path) and right in SHARED and path.name not in SHARED:
                message, remedy = f"this is read from `{right}` alone", f"rename it `{right}`; keep one of them"
                self.faults.append(file_fault("file.name", path, message, remedy))

    def tree(self, path: Path) -> Tree:
        """A file's tree, read once, its faults told once."""
        if path not in self._trees:
            self._trees[path] = read_file(path)
        if path not in self._told:
            self._told.add(path)
            self.faults += self._trees[path].faults
        return self._trees[path]

    def _document(
        self, model: type[Made], path: Path, *, optional: bool = False, slips: Iterable[Slip] = ()
    ) -> Document[Made]:
        if optional and not is_there(path):
            return Document(value=None, root=None, sound=True)
        tree = self.tree(path)
        return self._made(model, tree.root, (tree,), slips)

    def _learned(self, path: Path) -> Document[Learned]:
        """What records say; lines may be taken out of it, all of them too."""
        if is_there(path):
            self._trees[path] = without_empty(read_file(path))
            if self._trees[path].root is None and not self._trees[path].faults:
                return Document(value=None, root=None, sound=True)
        return self._document(Learned, path, optional=True)

    def _made(
        self, model: type[Made], root: Node | None, trees: Sequence[Tree], slips: Iterable[Slip], sound: bool = True
    ) -> Document[Made]:
        """The model of a root that came out of some trees, with name slips found on what was written."""
        refused = Refused(paths=frozenset((tree.file, path) for tree in trees for path in tree.refused))
        if root is None:
            return Document(value=None, root=None, sound=False)
        value, faults = made(model, root, refused)
        faults += faults_of(slips, root, refused)
        self.faults += faults
        return Document(
            value=value,
            root=root,
            sound=sound and not faults and not any(tree.faults for tree in trees),
            refused=refused,
        )

    def _lay_over(self) -> None:
        """The company's own limits and surfaces over the tables, with what is wrong in them."""
        company, surfaces = self.company, self.surfaces
        if company.value is not None and company.root is not None:
            self.limits, slips = limits_with(company.value.limits)
            self.company = self._with(company, slips)
        if surfaces.value is not None and surfaces.root is not None:
            self.surfaces = self._with(surfaces, row_slips(surfaces.value))
        self.rows = with_own_rows(surfaces.value)
        if self.learned.value is not None and self.learned.root is not None:
            learned = self.learned.value
            pumps = self._gear_of(learned.pumps, lambda rig: [pump.name for pump in rig.pumps])
            tips = self._gear_of(learned.jets, lambda rig: [tip.name for tip in rig.tips])
            slips = list(learned_slips(learned, pumps, self.kinds(), tips))
            self.learned = self._with(self.learned, slips)

    def _with(self, document: Document[Made], slips: Sequence[Slip]) -> Document[Made]:
        assert document.root is not None
        faults = faults_of(slips, document.root, document.refused)
        self.faults += faults
        return Document(
            value=document.value, root=document.root, sound=document.sound and not faults, refused=document.refused
        )

    def kinds(self) -> set[str]:
        """Every kind of surface, those of a faulty surfaces.yaml too, so that one slip there makes no second here."""
        own = (self.surfaces.raw or {}).get("surfaces")
        rows = own if isinstance(own, list) else []
        return {
            *surface_rows(),
            *(row["kind"] for row in rows if isinstance(row, dict) and isinstance(row.get("kind"), str)),
        }

    def rig_files(self) -> dict[str, Path]:
        """Rig files by plain name."""
        return {name: paths[0] for name, paths in self._rig_files().items()}

    def _rig_files(self) -> dict[str, list[Path]]:
        found: dict[str, list[Path]] = {}
        for path in listed_files(self.folder / "rigs"):
            if path.suffix in YAML_ENDINGS and not path.name.startswith("."):
                found.setdefault(plain_name(path.stem), []).append(path)
        return found

    def rig_named(self, name: str) -> Document[Rig] | None:
        """The rig of a name, read once; None where there is none."""
        paths = self._rig_files().get(plain_name(name))
        if not paths:
            return None
        path = paths[0]
        if path not in self._rigs:
            tree = self.tree(path)
            raw = tree.root.plain() if tree.root is not None else {}
            slips = [*rig_slips(raw, self.stock.raw), *self._anothers_name(raw.get("rig"), path)]
            self._rigs[path] = self._made(Rig, tree.root, (tree,), slips, len(paths) == 1)
            for other in paths[1:]:
                message = f"`{path.name}` is a file of the same rig, and which of them is meant is not known"
                self.faults.append(file_fault("file.name", other, message, "remove one, or give it another name"))
        return self._rigs[path]

    def _anothers_name(self, name: Any, path: Path) -> Iterable[Slip]:
        """A rig's file copied and not renamed inside: what is in the tanks of one would be taken for the other's."""
        other = self.rig_files().get(plain_name(name)) if isinstance(name, str) else None
        if other is not None and plain_name(other.stem) != plain_name(path.stem):
            message, remedy = f"`{name}` is the rig of `{other.name}`", f"write its own name: `rig: {path.stem}`"
            yield Slip(code="name.twice", message=message, remedy=remedy, at=("rig",))

    def read_rigs(self) -> None:
        """Read every rig, those no day goes with too: what is wrong with them joins the faults."""
        for name in self.rig_files():
            self.rig_named(name)
        for path in listed_files(self.folder / "rigs"):
            if meant_as_yaml(path) and path.suffix not in YAML_ENDINGS:
                message, remedy = f"a file that ends in `{path.suffix}` is not read", "rename it"
                right = right_ending(path).name
                self.faults.append(file_fault("file.name", path, message, f"{remedy} `{right}`"))

    def _gear_of(self, names: Iterable[str], gear: Callable[[Rig], list[str]]) -> dict[str, list[str] | None]:
        """Some gear of every rig that is learned of, by the rig's own name; None where its file cannot say."""
        found: dict[str, list[str] | None] = {}
        for name in names:
            rig = self.rig_named(name)
            if rig is not None:
                found[name] = gear(rig.value) if rig.value is not None else None
        return found

    def _no_rig(self, name: str, at: tuple[str, ...]) -> Slip:
        names = [path.stem for path in self.rig_files().values()]
        near = nearest(name, names)
        known = f"known here: {listed(names)}" if names else "write its file in the folder rigs"
        return Slip(
            code="name.unknown",
            message=f"there is no rig `{name[:60]}`",
            remedy=f"write `{near}` if that was meant" if near else known,
            at=at,
        )

    def _page(self, path: Path) -> Tree:
        """A day's page with the CSV of its hours, read once and told of once, as `tree`."""
        if path not in self._trees:
            self._trees[path] = with_hours(read_file(path), path.parent)
        return self.tree(path)

    def day(self, path: Path, stems: Sequence[str]) -> Document[Day]:
        """A day's page; `stems` are the names of its job files."""
        tree = self._page(path)
        raw = tree.root.plain() if tree.root is not None else {}
        name = raw.get("rig")
        rig = self.rig_named(name) if isinstance(name, str) else None
        slips = list(day_slips(raw, rig.raw if rig is not None else None, self.stock.raw, stems))
        if isinstance(name, str) and rig is None:
            slips.append(self._no_rig(name, ("rig",)))
        return self._settled(self._made(Day, tree.root, (tree,), slips))

    def _settled(self, page: Document[Day]) -> Document[Day]:
        """The day with every heel's strength settled; one that does not say how much is in it is a fault."""
        if page.value is None or self.company.value is None:
            return page
        lots = self.stock.value.lots if self.stock.value is not None else ()
        heels = dict(page.value.heels)
        slips: list[Slip] = []
        for tank, heel in heels.items():
            if heel.stock != "water" and resolved(heel.stock, lots)[0] not in CHEMICALS:
                continue  # its name is a fault already
            slip_count = len(slips)
            strength = heel_strength(heel, lots, self.company.value, ("heels", tank, "strength"), slips)
            if len(slips) == slip_count:
                heels[tank] = heel.model_copy(update={"strength": strength})
        settled = self._with(page, slips) if slips else page
        return replace(settled, value=page.value.model_copy(update={"heels": heels}))

    def job(self, path: Path, page: Document[Day] | None) -> JobDocument:
        """A job under everything it is like, and its rig."""
        whole = merged(self.tree(path), path, self.folder, self.tree)
        self.faults += whole.faults
        raw: Mapping[str, Any] = whole.root.plain() if whole.root is not None else {}
        rig, slips = self._rig_of(raw, whole.root, page)
        kinds = self.kinds()
        if raw.get("kind") == "yard":
            slips += yard_slips(raw, rig.raw if rig is not None else None)
            yard = self._made(YardJob, whole.root, whole.trees, slips, not whole.faults)
            return JobDocument(document=yard, rig=rig)
        slips += job_slips(raw, rig.raw if rig is not None else None, self.stock.raw, kinds)
        wash = self._made(Job, whole.root, whole.trees, slips, not whole.faults)
        return JobDocument(document=wash, rig=rig)

    def _rig_of(
        self, raw: Mapping[str, Any], root: Node | None, page: Document[Day] | None
    ) -> tuple[Document[Rig] | None, list[Slip]]:
        """The job's rig, written inline, named by the job, or named by the day; and what is wrong in that."""
        written, days_own = raw.get("rig"), (page.raw or {}).get("rig") if page is not None else None
        if isinstance(written, dict) and root is not None and isinstance(root.value, Mapping):
            node = root.value["rig"]
            value, faults = made(Rig, node, Refused())
            slips = [
                Slip(code=s.code, message=s.message, remedy=s.remedy, at=("rig", *s.at))
                for s in rig_slips(written, self.stock.raw)
            ]
            slips += self._disagreement(written.get("rig"), days_own, ("rig", "rig"))
            # The job's own model finds the faults inside an inline rig, at the same places.
            return Document(value=value, root=node, sound=not faults), slips
        if isinstance(written, str):
            rig = self.rig_named(written)
            if rig is None:
                return None, [self._no_rig(written, ("rig",))]
            return rig, self._disagreement(written, days_own, ("rig",))
        if "rig" in raw:
            return None, []
        if isinstance(days_own, str):
            return self.rig_named(days_own), []
        if root is None or (page is not None and page.root is None) or (page is not None and "rig" in (page.raw or {})):
            return None, []
        if page is not None:
            return None, []  # the day's page is told that its rig is missing
        return None, [
            Slip(
                code="key.missing",
                message="`rig` is missing, and no day names one",
                remedy="add `rig: ` and its name",
                at=("rig",),
            )
        ]

    def _disagreement(self, written: Any, days_own: Any, at: tuple[str, ...]) -> list[Slip]:
        """A job and its day must be for one rig; a day whose own rig is unknown is told so, not every job in it."""
        if (
            not isinstance(written, str)
            or not isinstance(days_own, str)
            or plain_name(days_own) not in self.rig_files()
        ):
            return []
        if plain_name(written) != plain_name(days_own):
            return [
                Slip(
                    code="rig.disagrees",
                    message=f"the job is for rig `{written[:60]}`, its day for `{days_own[:60]}`",
                    remedy="write the same rig in both, or move the job to that rig's day",
                    at=at,
                )
            ]
        return []
