"""The voice of all that a user reads, as far as a pattern can hold it: plain, active, American."""

from __future__ import annotations

import re

import pytest

from tests.spoken_words import FILLED, KEYS, everything, sentences, words

LONGEST = 40
"""Words of a sentence, wherever it is read; what a placeholder fills in is one."""

REFUSED = {
    "say what is missing and where it belongs": r"(?i)\b(nobody|no one|none|nothing|not|is|are|was|were) (written|wrote)\b(?! (down|like|into|with))",
    "a name `is not a ...`, or there is no ... called so": r"`[^`]*` is (no|nothing|none)\b",
    "this `is not a ...`": r"(?i)(?<!there )\b(is|are) (no|none|nothing)\b(?! (longer|more|further|less|higher|lower|other))",
    "the minimum is, the limit is, at least, at most": r"\bthe least\b|\bis the most\b|\bat the (least|most)\b",
    "acceptable": r"\blet pass\b",
    "the job needs it": r"\b(is|are) wanted\b",
    "it says nothing about it": r"\btells (no|nothing)\b",
    "a good pump, not a sound one": r"\bsound (pump|one)\b|\b[Ss]ound, it\b",
    "check off, not tick": r"\bticked\b|\bticks it\b",
    "American spelling": r"(?i)neighbour|neutralis|aluminium|galvanis|fuelled|colour|fibre|anodis|\bgrey\b|\bmetre|\blitre|\bcentre",
    "zero": r"\bnought\b",
    "call": r"\b[Rr]ing (us|while|the)\b|\bto ring\b",
    "again, over": r"\banew\b",
    "is not likely to be meant": r"hardly meant",
    "a stop point": r"\bhold point",
    "to spare": r"\bin hand\b",
    "nearby": r"\bnear by\b",
    "around": r"\b(walks?|all|goes|shown) round\b",
    "fix it": r"(?i)\bput (that|it|this|what .*) right\b",
    "differently": r"\bwent otherwise\b|\botherwise than\b",
    "even if": r"\bthough [^.;]* be\b(?! able)",
}
"""What is asked of every string, and what breaks it."""


@pytest.mark.ci
def test_nothing_a_user_reads_breaks_the_voice() -> None:
    broken = [
        f"{asked}: {where}: {found[0]}: {text}"
        for where, text in everything()
        for asked, pattern in REFUSED.items()
        for found in re.finditer(pattern, KEYS.sub("", FILLED.sub("{}", text)))
    ]
    assert not broken, "\n".join(broken)


def test_no_sentence_runs_longer_than_a_breath() -> None:
    long = [f"{where}: {count} words: {text}" for where, text in sentences() if (count := words(text)) > LONGEST]
    assert not long, "\n".join(long)
