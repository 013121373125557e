"""Which figure of the JSON each number of a crew page is: the sheet, the words it stands in, the path it must say.

A path is a pattern; `(?P<who>...)` in it must begin the row's own words, so that one side's rinse is not another's,
and `(?P<under>...)` must head its column.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from tests.packet.figures.known import Known
from tests.packet.figures.read import Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """`place` is searched in `row > column`, `words` in the words; `paths` are those of the figures in their order."""

    sheet: str
    place: str
    words: str
    paths: tuple[str, ...]


def _row(sheet: str, place: str, words: str, *paths: str) -> Named:
    return Named(sheet=sheet, place=place, words=words, paths=paths)


_WHO = r"\[(?P<who>[^\]]*)\]"
_GAUGE = r"runs\[[^\]]*\]\.joints\[(?:gauge|tap)\]\.open_pa"
_CLOSED = r"runs\[[^\]]*\]\.joints\[(?:gauge|tap)\]\.closed_pa"
_FLOW = r"runs\[[^\]]*\]\.flow_m3_per_s"
_TIP = r"runs\[[^\]]*\]\.tip_pressure_pa"
_BUCKET = r"derived\.runs\[[^\]]*\]\.bucket_s"
_TIMED = r"derived\.runs\[[^\]]*\]\.bucket$"
_TOOL = r"wording\.tool"
_NEEDED = r"runs\[[^\]]*\]\.needed_m"
_REACH, _LOW = r"runs\[[^\]]*\]\.reach_m", r"runs\[[^\]]*\]\.reach_low_m"
_WALL = r"derived\.mixes\[[^\]]*\]\.(?:target|wall)_g_per_l|input\..*\.strength"
_TODAY = r"derived\.lots\[[^\]]*\]\.strength_today_g_per_l|input\.lot.*strength"
_BAND = (
    r"derived\.lots\[[^\]]*\]\.strength_today_low_g_per_l",
    r"derived\.lots\[[^\]]*\]\.strength_today_high_g_per_l",
)
_STOCK = r"mixes\[[^\]]*\]\.(?:stock_m3|stock_kg|batches.*stock_m3)|mixes.*additions.*\.(?:m3|kg)"
_PULL = r"mixes\[[^\]]*\]\.pull_m3|derived\.lots\[[^\]]*\]\.(?:pull|mass|soap)"
_DIAL = r"mixes\[[^\]]*\]\.setting\.dial"
_SHARE = r"mixes\[[^\]]*\]\.setting\.share"
_WATER = r"mixes.*additions\[water\]\.m3"
_DIP = r"mixes.*additions.*\.dip_m"
_MIX = r"mixes\[[^\]]*\]\.batches\.\d+\.mix_m3|mixes\[[^\]]*\]\.batches\[[^\]]*\]\.mix_m3|mixes\[[^\]]*\]\.mix_m3"

_FILL = (r"supply.*opened", r"supply.*shut", r"supply.*alone")
_CORD = (r"power\.motors.*drop_volts", r"power\.motors.*drop_fraction")


def _read(what: str) -> tuple[str, str, str]:
    """What a reading should be, from and to."""
    return rf"acts\.{what}\.value", rf"acts\.{what}\.low", rf"acts\.{what}\.high"


def _READ(what: str) -> tuple[str, str, str]:
    """The paths of a reading: its value, and its two ends."""
    return tuple(rf"acts\.{what}\.{key}" for key in ("value", "low", "high"))  # type: ignore[return-value]


NAMED: tuple[Named, ...] = (
    # The card.
    _row("held", r"", r"At worst the jet stops # \w+ short", r"stop\.apart"),
    _row("held", r"^Height needed > $", r"^#", _NEEDED),
    _row("held", r"^Jet, worst case > $", r"^#", _LOW),
    _row("held", r"^Short by > $", r"^#", r"stop\.apart"),
    _row("held", r"> Why$", r"In still air the jet gets to #.* Needs # \w+ at the tip.* gives # \w+ through #", _REACH, r"tried\..*\.needed", r"tried\..*\.given", r"tried\..*\.length"),
    _row("held", r"> Why$", r"^needed #|^# .* is needed", _NEEDED),
    _row("held", r"> Why$", r"^jet #", _REACH),
    _row("held", r"> Why$", r"^at worst #", _LOW),
    _row("held", r"> Worst case$", r"^#", r"tried\.\d+\.low"),
    _row("held", r"> Result$", r"^# .* short", r"tried\.\d+\.apart"),
    _row("card", r"^Height to reach > $", r"^#", f"{_NEEDED}|input.run.*target"),
    _row("card", r"^Height to reach > below", r"jet gives #.* # .* to spare", _REACH, r"derived.*hand", _LOW, r"derived.*hand_low"),
    _row("card", r"^On the wall > $", r"^#", _WALL),
    _row("card", r"^On the wall > below", r"# trade %, # to #", _TODAY, *_BAND),
    _row("card", r"^To mix > $", r"^# dial$", _DIAL),
    _row("card", r"^To mix > below", r"# % of the flow, stock #", _SHARE, _STOCK),
    _row("card", r"^To mix > $", r"^# (?:gal|L|fl oz|mL)$", _MIX + r"|derived\.mixes.*jug\.stock"),
    _row("card", r"^Water > $", r"^# (?:gal|L)$", r"water\.most_m3"),
    _row("card", r"^Water > below", r"(?:tap|hydrant) # (?:gpm|L/min) # (?:gal|L) in # s", r"input\.tank.*volume", r"derived\.tap\.flow", _TOOL, r"derived\.tap\.bucket_s"),
    _row("card", r"", r"Gauge, gun open, #.*closed #.*at the tip, # .* in #", _GAUGE, _CLOSED, _FLOW, _TIP, _TIMED, _BUCKET),
    _row("card", r"", r"^page #", rf"told{_WHO}\.page", rf"told{_WHO}\.step"),
    _row("card", r"", r"^And # more, each on its sheet", r"told\.more"),
    _row("card", r"> Gauge$", r"^#", _GAUGE),
    _row("card", r"> Closed$", r"^#", _CLOSED),
    _row("card", r"> Flow$", r"^#", _FLOW),
    # Walk-round and safety.
    _row("walk_round", r"", r"^wires #", r"input\.access\.power_line"),
    _row("walk_round", r"", r"fish pond #", r"input\.near\.fish_pond"),
    _row("walk_round", r"", r"storm drain #", r"input\.near\.storm_drain"),
    _row("safety", r"", r"Power line, #", r"input\.access\.power_line"),
    _row("safety", r"", r"wand, ladder and jet # \w+ clear", r"limit\.power_line_stop"),
    _row("safety", r"", r"Above # .* gusts of #.* Above #", r"limit\.wind_caution", r"limit\.gust_caution", r"limit\.wind_stop.*"),
    # Set up.
    _row("grounds", r"", r"^“Read”: read the gauge, gun shut: # \w+ \(# to #", *_READ("gauge_closed")),
    _row("set_up", r"", r"^Open the gun, # s\. Read the gauge: # \w+ \(# to #", r"acts\.spray\.line\.seconds", *_READ("gauge_open")),
    _row("set_up", r"", r"^Time # .* in a bucket at the tip: # s \(# to #", r"acts\.spray\.test\.m3", *_READ("bucket")),
    _row("set_up", r"", r"how high the jet got at the wall: # \w+ \(# to #", *_READ("throw")),
    # Mix.
    _row("mix", r"", r"^Fill .*: # (?:gal|L) more: stick at #", r"acts\.fill\.m3", _DIP),
    _row("mix", r"", r"[Pp]our # .*: stick at #", r"acts\.pour\.m3", _DIP),
    _row("mix", r"", r"[Pp]our #[^#]*$", r"acts\.pour\.m3"),
    _row("wash", r"", r"[Ww]eigh #[^#]*$", r"acts\.pour\.kg"),
    # Wash.
    _row("grounds", r"", r"left in the jug[.:].* # (?:fl oz|mL|L) \(# to #", r"mixes.*jug_left_m3", *2 * (r"mixes.*jug_left_between_m3.*",)),
    _row("wash", r"", r"^[^#]*: # equal sections of # (?:ft2|m2)\.", *2 * (r"derived\.section\[[^\]]*\]\.count", r"derived\.section\[[^\]]*\]\.area")),
    _row("wash", r"> Wait, min$", r"^# to #$", r"work\[[^\]]*\]\.dwell_s\.0", r"work\[[^\]]*\]\.dwell_s\.1"),
    _row("wash", r"> Mix on$", r"^#", rf"acts\.wall{_WHO}\.mix\.whole"),
    _row("wash", r"> Rinse$", r"^#", rf"acts\.wall{_WHO}\.rinse\.whole"),
    _row("wash", r"", r"^needed #", _NEEDED),
    _row("wash", r"", r"^jet #", _REACH),
    _row("wash", r"", r"^at worst #", _LOW),
    _row("wash", r"", r"wind passes # .*wind over # .*gusts over #", r"limit\.wind_stop.*", r"limit\.wind_caution", r"limit\.gust_caution"),
    # Grounds.
    _row("near", r"^fish pond > How far", r"^#", r"input\.near\.fish_pond"),
    _row("near", r"^storm drain > How far", r"^#", r"input\.near\.storm_drain"),
    _row("grounds", r"> By weight", r"^#", r"neutralise\[[^\]]*\]\.kg"),
    _row("grounds", r"> Carry", r"^#", r"neutralise\[[^\]]*\]\.carry_kg"),
    _row("near", r"", r"^Downspouts: #, each about #", r"input\.near\.downspouts", r"downspouts\.each_m3", r"downspouts\.each_kg"),
    _row("grounds", r"", r"^On hand in all: # \w+ of", r"agents\[[^\]]*\]\.carry_kg"),
    # Flush.
    _row("flush", r"", r"^Flush the line .*: # \w+ \(#", r"acts\.spray\.flush\.seconds", r"acts\.spray\.flush\.m3"),
    _row("flush", r"", r"^Shut the gun.* Read a chlorine strip .*: #", r"acts\.strip_chlorine\.high"),
    # If it differs.
    _row("differs", r"^(?:as planned|.* (?:more|less)) > \d", r"^#$", r"table\.reach\[(?P<who>[^\]]*)\]\[(?P<under>[^\]]*)\]"),
    _row("differs", r"^Set .* to > \d", r"^#$", r"table\.dial\[(?P<under>[^\]]*)\]"),
    _row("differs", r"", r"^Stock for # .* of jug in all", r"derived\.mixes.*\.jug\.all"),
    _row("differs", r"> Stock in the (?:first )?batch", r"^#", r"table\.stock\[(?P<who>[^\]]*)\]"),
    _row("differs", r"dry, min", r"^#$", r"table\.dry_s"),
    # What was done.
    _row("done", r"^Tap, (?:5 gal|20 L)", r"^#", r"derived\.tap\.bucket_s"),
    _row("done", r"^Dial", r"^#", _DIAL),
    _row("done", r"^Stock used", r"^#", _STOCK),
    _row("done", r"^Mix made", r"^#", r"derived\.mixes.*made|" + _MIX),
    _row("done", r"^Left over", r"^#", r"mixes.*left_over_m3"),
    _row("done", r"> Sections", r"^#", rf"derived\.work{_WHO}\.sections"),
    _row("done", r"^Water in all", r"^#", r"water\.most_m3"),
    _row("done", r"> Wet,", r"^#", rf"acts\.side{_WHO}\.wet"),
    _row("done", r"> Mix,", r"^#", rf"derived\.mixes.*part{_WHO}\.mix"),
    _row("done", r"> Dwell,", r"^# to #", rf"work{_WHO}\.dwell_s\.0", rf"work{_WHO}\.dwell_s\.1"),
    _row("done", r"> Rinse,", r"^#", rf"work{_WHO}\.rinse_m3"),
    # Work in the yard.
    *(row for sheet, when, told in (("yard_test", "before", ", before"), ("yard_test", "after", ""), ("yard_up", "after", ", after")) for row in (
        _row(sheet, rf"^Throw{told} > planned", r"^#", rf"yard\.throw\.{when}\.ground_m"),
        _row(sheet, rf"^Gauge closed{told} > planned", r"^#", rf"yard\.throw\.{when}\.gauge_closed_pa"),
        _row(sheet, rf"^Bucket{told} > planned", r"^#", rf"derived\.yard\.throw\.{when}\.bucket_s"),
    )),
    _row("yard_test", r"", r"^Tip # .* at # degrees", r"yard\.throw\.tip_height_m", r"derived\.yard\.throw\.after\.degrees"),
    _row("yard_test", r"", r"^Gauge shut before: # .* at # % .*By bucket before: # .*less than.*Paced out before: # \w+, less than", r"yard\.throw\.found\[gauge\]\.gauge_closed_pa", r"yard\.throw\.found\[gauge\]\.share", r"yard\.throw\.found\[bucket\]\.flow_m3_per_s", r"yard\.throw\.found\[throw\]\.ground_m"),
    *(row for sheet, when in (("yard_test", "before"), ("yard_up", "after")) for row in (
        _row(sheet, r"", r"Time # \w+ in a bucket at the tip", r"derived\.yard\.bucket"),
        _row(sheet, r"in a bucket at the tip\. > Should be", r"^# s \(# to #\)", *(rf"derived\.yard\.bucket\.{one}" for one in ("value", "low", "high"))),
        _row(sheet, r"Read the gauge.* > Should be", r"^# \w+ \(# to #\)", *_read("gauge_closed")),
        _row(sheet, r"", r"in bypass no longer than # min", r"limit\.shut_off_on_paper"),
        _row(sheet, r"Pace out .* > Should be", r"^# \w+ \(# to #\)", rf"yard\.throw\.{when}\.ground_m", *_read("throw")[1:]),
    )),
    _row("yard_test", r"", r"one by one, # of them from the root", r"yard\.stages"),
    _row("yard_bath", r"", r"holds at least # .*Water first: # .*: stick at #", r"bath\.tub_least_m3", r"bath\.water_m3", r"bath\.levels\[water\]\.dip_m"),
    _row("yard_bath", r"", r"^Then # .*low and slowly.*, # min: stick at #", r"bath\.stock_m3", r"acts\.stir\.seconds", r"bath\.levels.*dip_m"),
    _row("yard_bath", r"", r"^Then # .*low and slowly", r"bath\.stock_m3"),
    _row("yard_bath", r"", r"It gets up to # \w warmer", r"derived\.bath\.warmer"),
    _row("yard_bath", r"", r"^Lower the scaled .*Soak #.*Room for the foam: #", r"bath\.soak_s", r"bath\.free_m"),
    _row("yard_bath", r"", r"^Shaft.*: .* # min a pass, never over # min, # passes", r"bath\.wipe_s\.0", r"bath\.wipe_s\.1", r"derived\.bath\.passes"),
    _row("yard_bath", r"", r"within # s\? Rinse water mixed, and # \w+ of \w+", r"wording\.yard_bath", r"bath\.neutralise\[[^\]]*\]\.carry_kg"),
    _row("yard_test", r"", r"^Stir # \w+ of .* into", r"acts\.neutralise\.kg"),
    _row("yard_bath", r"", r"^Spent: .*pH over #, or about # .*\(of #", r"derived\.bath\.spent_ph", r"bath\.spent_kg", r"bath\.capacity_kg"),
    _row("yard_bath", r"", r"^Neutralize what is left: up to #", r"bath\.neutralise\[[^\]]*\]\.kg"),
    _row("yard_bath", r"", r"it foams, up to # \w+ of gas", r"derived\.bath\.gas"),
    _row("yard_bath", r"", r"^It heats instead of foaming: up to # \w warmer", r"derived\.bath\.ends_warmer"),
    _row("worksheet", r"^lime warms it > Value", r"^#", r"derived\.bath\.ends_warmer"),
    _row("yard_done", r"^In the bath", r"^#", r"bath\.soak_s"),
    # The worksheet's values.
    _row("worksheet", r"^flow at the tip > Value", r"^#", _FLOW),
    _row("worksheet", r"^pressure at the gauge > Value", r"^#", r"runs\[[^\]]*\]\.pump_pressure_pa"),
    _row("worksheet", r"^pressure at the tip > Value", r"^#", _TIP),
    _row("worksheet", r"^lost between them > Value", r"^#", r"derived\.runs.*\.lost"),
    _row("worksheet", r"^highest, gun closed > Value", r"^#", r"runs\[[^\]]*\]\.shut_off_pressure_pa"),
    _row("worksheet", r"^push of the gun > Value", r"^#", r"runs\[[^\]]*\]\.reaction_n"),
    _row("worksheet", r"^suction head > Value", r"^#", r"runs.*npsh_available_m", r"runs.*npsh_required_m"),
    _row("worksheet", r"^height reached > Value", r"^#", _REACH, _LOW),
    _row("worksheet", r"^share of stock, dial > Value", r"^# %, dial #", _SHARE, _DIAL),
    _row("worksheet", r"^mix needed > Value", r"^#", r"mixes\[[^\]]*\]\.need_m3"),
    _row("worksheet", r"^stock and water > Value", r"^#", _STOCK, r"mixes\[[^\]]*\]\.water_m3"),
    _row("worksheet", r"^hose holds > Value", r"^#", r"mixes.*hose_fill_m3"),
    _row("worksheet", r"> Clean, min$", r"^#", rf"work{_WHO}\.clean_s"),
    _row("worksheet", r"> Wet, min$", r"^#", rf"work{_WHO}\.wet_s"),
    _row("worksheet", r"> Apply, min$", r"^#", rf"work{_WHO}\.apply_s"),
    _row("worksheet", r"> Rinse, min$", r"^#", rf"work{_WHO}\.rinse_s"),
    _row("worksheet", r"> Waits, min$", r"^#", rf"derived\.work{_WHO}\.waits"),
    _row("worksheet", r"> In all, min$", r"^#", rf"(?:time|derived\.work){_WHO}\.(?:seconds|took)"),
    _row("worksheet", r"> Pace$", r"^# % of the table's, learned from # records", r"derived\.work.*\.pace", r"derived\.work.*\.records"),
    _row("worksheet", r"^pre-wet > Water", r"^#", r"water\.by_use_m3\.pre_wet"),
    _row("worksheet", r"^to fill hoses, into buckets > Water", r"^#", r"water\.by_use_m3\.line"),
    _row("worksheet", r"^to test > Water", r"^#", r"water\.by_use_m3\.test"),
    _row("worksheet", r"^in the mix > Water", r"^#", r"water\.by_use_m3\.mix"),
    _row("worksheet", r"^rinse > Water", r"^#", r"water\.by_use_m3\.rinse"),
    _row("worksheet", r"^surface cleaner > Water", r"^#", r"water\.by_use_m3\.clean"),
    _row("worksheet", r"^flush > Water", r"^#", r"water\.by_use_m3\.flush"),
    _row("worksheet", r"^flower beds > Water", r"^#", r"water\.by_use_m3\.beds"),
    _row("worksheet", r"^in all > Water", r"^#", r"water\.need_m3"),
    _row("worksheet", r"^from the tap, with tanks refilled > Water", r"^#", r"water\.most_m3"),
    _row("worksheet", r"> Takes$", r"^# (?:gal|L)$", rf"supply\[[^\]]*\]{_WHO}\.takes"),
    _row("worksheet", r"> Lowest$", r"^#", rf"supply\[[^\]]*\]{_WHO}\.lowest"),
    _row("worksheet", r"> Stands after$", r"^#", rf"supply\[[^\]]*\]{_WHO}\.after"),
    _row("worksheet", r"^flush (?!booster|panel)[^>]* > Value", r"^#", r"flushes\[[^\]]*\]\.volume_m3"),
)  # fmt: skip


def _plain(text: str) -> str:
    """Words with `13.0` as `13`, the way a plain number is written."""
    return re.sub(r"\b(\d+)\.0\b", r"\1", text)


def named(figure: Figure) -> Named | None:
    """The first row the figure stands in; None where it has no name here."""
    place = f"{figure.row} > {figure.column}"
    for row in NAMED:
        if row.sheet == figure.sheet and re.search(row.place, place) and re.search(row.words, figure.words):
            return row
    return None


def allowed(figure: Figure, row: Named, known: Sequence[Known]) -> list[Known]:
    """Of everything known only what this figure may be."""
    if figure.nth >= len(row.paths):
        return list(known)
    path = re.compile(row.paths[figure.nth])
    kept = []
    for one in known:
        match = path.fullmatch(one.name)
        if match is None:
            continue
        who = match.groupdict().get("who")
        under = match.groupdict().get("under")
        at, column = _plain(figure.row), _plain(figure.column)
        if (who is None or at.startswith(_plain(who))) and (under is None or column == _plain(under)):
            kept.append(one)
    return kept
