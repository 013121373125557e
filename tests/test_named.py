"""Sources are named by author, year, standard or handbook: a site's address dies, and names who is not meant."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SEARCHED = sorted(
    path
    for folder in ("planner", "templates", "jobs", "tests")
    for path in (ROOT / folder).rglob("*")
    if path.suffix in {".py", ".yaml", ".txt", ".md", ".tsv", ".json"} and path.name != Path(__file__).name
)
SITE = re.compile(r"\bwww\.|\b[a-z0-9][a-z0-9-]*\.(?:com|org|net|gov|edu|info|io|biz|eu|uk|de|ru)\b(?!\()", re.I)
SPELLED = {"json-schema.org", "yaml.org"}
"""Words of two formats that only look like an address: a schema's dialect, a tag of YAML."""


@pytest.mark.ci
def test_no_site_is_named() -> None:
    found = []
    for path in SEARCHED:
        sites = {match.group() for match in SITE.finditer(path.read_text(encoding="utf-8"))} - SPELLED
        found += [f"{path.relative_to(ROOT)}: {site}" for site in sorted(sites)]
    assert not found, "\n".join(found)


@pytest.mark.parametrize("text", ["www.a", "see water.gov/x", "https://tables.example.org", "A-Table.COM page 3"])
def test_an_address_is_seen(text: str) -> None:
    assert SITE.search(text)
