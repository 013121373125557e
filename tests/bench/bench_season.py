"""A season of known truths, told against true. Run by hand: python tests/bench/bench_season.py [weeks] [seeds].

Every week is planned, done, recorded and compared with --apply. Then a table: what is so, what was told, how far apart
the two may lie; and every alarm about gear that is good.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.bench.season import Season, alarms, rows


def run(weeks: int, seeds: int) -> int:
    """Print the tables; how many rows are off and alarms false."""
    wrong = 0
    for seed in range(1, seeds + 1):
        with tempfile.TemporaryDirectory() as name:
            season = Season(folder=Path(name), weeks=weeks, seed=seed)
            season.run()
            table, false = rows(season), alarms(season)
        print(f"season {seed}: {weeks} weeks, {season.truth.jobs} jobs")
        print(f"{'':44} {'true':>9} {'told':>9} {'within':>8}")
        print("\n".join(row.line for row in table))
        print(f"false alarms: {len(false)}", *false, sep="\n  ")
        wrong += sum(not row.holds for row in table) + len(false)
    return wrong


if __name__ == "__main__":
    raise SystemExit(
        bool(run(int(sys.argv[1]) if len(sys.argv) > 1 else 16, int(sys.argv[2]) if len(sys.argv) > 2 else 1))
    )
