"""The longest sentences a user can get, longest first: `python -m tests.bench.bench_sentences [HOW MANY]`."""

from __future__ import annotations

import sys

from tests.spoken_words import sentences, words


def main() -> None:
    told = sorted(((words(text), where, text) for where, text in sentences()), reverse=True)
    counts = [count for count, _, _ in told if count > 2]
    print(f"{len(counts)} sentences; over 25 words: {sum(count > 25 for count in counts)}")
    for count, where, text in told[: int(sys.argv[1]) if len(sys.argv) > 1 else 30]:
        print(f"{count:3} {where}\n    {text}")


if __name__ == "__main__":
    main()
