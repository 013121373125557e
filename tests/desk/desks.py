"""A desk over a copy of the demo, asked as a browser would ask it; and a real browser on one that runs."""

from __future__ import annotations

import datetime
import html
import re
import shutil
from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from types import MappingProxyType, SimpleNamespace
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from planner import locate
from planner.desk.server import make_app
from planner.desk.state import Desk

PORT = 8199
TOKEN = "T0ken-of-the-tests-0123456789ab"
HOST = f"127.0.0.1:{PORT}"
ORIGIN = f"http://{HOST}"


class Asked:
    """One desk and its client: every request as the page itself sends it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.app = make_app(folder, TOKEN, PORT)
        self.client: FlaskClient = self.app.test_client()
        self.client.set_cookie(f"desk{PORT}", TOKEN, domain="127.0.0.1")

    @property
    def desk(self) -> Desk:
        """What the server holds."""
        found: Desk = self.app.config["desk"]
        return found

    def id(self, name: str) -> str:
        """The id of a file or folder, named from the workspace."""
        return self.desk.files.id_of(self.desk.files.folder / name)

    def get(self, path: str, **headers: str) -> TestResponse:
        """A page."""
        return self.client.get(path, base_url=ORIGIN, headers={"Sec-Fetch-Site": "same-origin", **headers})

    def post(
        self,
        path: str,
        data: Mapping[str, Any] | None = None,
        *,
        script: bool = True,
        headers: Mapping[str, str] = MappingProxyType({}),
    ) -> TestResponse:
        """A form, sent by the page's script or, as without one, by the browser itself."""
        own = {"Origin": ORIGIN, "Sec-Fetch-Site": "same-origin", **({"X-Desk": TOKEN} if script else {}), **headers}
        sent = {**(data or {}), **({} if script else {"desk": TOKEN})}
        return self.client.post(path, base_url=ORIGIN, data=sent, headers=own)

    def edit(self, name: str, place: str = "job:", **data: Any) -> TestResponse:
        """Change a file as its form would: `v` maps key paths to values, other names go as they are."""
        values = {f"v:{path}": value for path, value in data.pop("v", {}).items()}
        return self.post(f"/file/{self.id(name)}", {"place": place, **values, **data})

    def stamp(self, name: str) -> str:
        """What a page of this job says its files are."""
        page = self.get(f"/job/{self.id(name)}").get_data(as_text=True)
        return re.findall(r'data-stamp="(\w+)"', page)[0]

    def same(self, stamp: str) -> bool:
        """Whether the desk says that a page with this stamp still shows what is."""
        found: bool = self.get(f"/stamp?of={stamp}").get_json()["same"]
        return found

    def choose(self, name: str, which: str) -> TestResponse:
        """Keep `mine` or take `theirs`, of the two texts the page shows."""
        page = self.get(f"/job/{self.id(name)}").get_data(as_text=True)
        return self.edit(name, do=which, save="yes", seen=re.findall(r'name="seen" value="(\w+)"', page)[0])

    def text(self, name: str) -> str:
        """A file of the workspace as the disk has it."""
        return (self.folder / name).read_text(encoding="utf-8")


def demo(folder: Path) -> Asked:
    """A desk over a copy of the demo."""
    shutil.copytree(locate.jobs(), folder / "jobs", ignore=shutil.ignore_patterns("*.db*", ".planner-*"))
    return Asked(folder / "jobs")


def over(once: Path, folder: Path, monkeypatch: pytest.MonkeyPatch) -> Asked:
    """A desk over a copy of a folder with its archive beside the workspace."""
    shutil.copytree(once, folder)
    monkeypatch.setenv("PLANNER_ARCHIVE", str(folder / "archive.db"))
    return Asked(folder / "jobs")


def words(answer: TestResponse | str) -> str:
    """What a page says, without its marks."""
    text = answer if isinstance(answer, str) else answer.get_data(as_text=True)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", text)))


def on_a_day(monkeypatch: Any, year: int, month: int, day: int) -> None:
    """Let the places take a day for today: the demo's own days are past."""

    class Then(datetime.date):
        @classmethod
        def today(cls) -> Then:
            return cls(year, month, day)

    names = ("gear.booked", "gear.shelf_place", "done.taken")
    for module in (import_module(f"planner.desk.{name}") for name in names):
        monkeypatch.setattr(module, "datetime", SimpleNamespace(date=Then, timedelta=datetime.timedelta))
