"""Faults: one printer, one JSON form, one order."""

import pytest

from planner.faults import MOST_TOLD, Fault, Where, in_order, printed

pytestmark = pytest.mark.short


def fault(file: str, line: int, column: int, path: str = "", code: str = "quantity.unit") -> Fault:
    where = Where(file=file, line=line, column=column, path=path)
    return Fault(code=code, message=f"slip on line {line}", remedy="write `31 ft`", where=where)


def test_a_fault_prints_its_place_first_and_its_key_with_the_remedy() -> None:
    assert printed([fault("rigs/heron.yaml", 4, 12, "tanks[0].volume")]) == (
        "rigs/heron.yaml:4:12 quantity.unit slip on line 4\n    at tanks[0].volume: write `31 ft`"
    )


def test_a_fault_about_a_whole_file_names_no_key() -> None:
    assert printed([fault("day.yaml", 1, 1)]).splitlines()[1] == "    write `31 ft`"


def test_faults_are_sorted_by_number_not_by_text_and_each_is_told_once() -> None:
    faults = [fault("b.yaml", 2, 1), fault("a.yaml", 10, 1), fault("a.yaml", 9, 1), fault("a.yaml", 10, 1)]
    assert [(f.where.file, f.where.line) for f in in_order(faults)] == [("a.yaml", 9), ("a.yaml", 10), ("b.yaml", 2)]


def test_the_json_form_is_the_contract() -> None:
    assert fault("a.yaml", 3, 5, "job").as_json() == {
        "code": "quantity.unit",
        "message": "slip on line 3",
        "remedy": "write `31 ft`",
        "where": {"file": "a.yaml", "line": 3, "column": 5, "path": "job"},
    }


def test_no_faults_print_nothing() -> None:
    assert printed([]) == ""


def test_of_a_file_with_endless_faults_the_first_are_printed_and_the_rest_counted() -> None:
    faults = [fault("a.yaml", line, 1) for line in range(1, MOST_TOLD + 901)] + [fault("b.yaml", 1, 1)]
    lines = printed(faults).splitlines()
    assert len(lines) == 2 * MOST_TOLD + 1 + 2
    assert lines[2 * MOST_TOLD] == "a.yaml: and 900 more; fix these first"
    assert lines[-2].startswith("b.yaml:1:1")
