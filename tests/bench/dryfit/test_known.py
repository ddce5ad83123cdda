"""What stays known of a slot floor from one round to the next, how a cut is made, and what is said of it all."""

from types import SimpleNamespace
from typing import Any

import pytest

from nutgen.bench.dryfit.belief import Belief
from nutgen.bench.dryfit.filing import steps_of
from nutgen.bench.dryfit.hand import Hand
from nutgen.bench.dryfit.readings import Gap
from nutgen.bench.dryfit.slips import Known, disagreeing, known_from
from nutgen.bench.materials import MATERIALS
from nutgen.documents.words import sentence
from nutgen.finding import of_string
from nutgen.nut import solve
from nutgen.spec.presets import kind_path
from nutgen.spec.read import read_spec
from nutgen.spec.values import Sheet
from tests.bench.dryfit.test_dryfit import NUTS, Bench


def test_a_floor_stays_falls_or_is_unknown_by_the_work_between() -> None:
    gap: Any = SimpleNamespace(floor_low=0.6, floor_high=0.7)
    known = Known(Belief.nothing().read([gap], wanted=0.5), told=0.05)
    assert known.after("nothing", Hand()) is known.floor
    assert known.after("filing", Hand()).middle == pytest.approx(known.floor.middle - 0.05, abs=0.005)
    for work in ("fill", "shim", "new nut"):
        assert known.after(work, Hand()).between().high > 3.0


@pytest.mark.parametrize(("work", "high"), [("nothing", 0.2), ("shim", 0.3)])
def test_a_log_is_forgotten_where_the_nut_was_raised(work: str, high: float) -> None:
    """Read between 0.1 and 0.2 over what is wanted, 0.5, and then between 0.1 and 0.3."""

    def entry(after: str, top: float) -> Any:
        read = SimpleNamespace(doubt="", gaps=[SimpleNamespace(floor_low=0.6, floor_high=top)], file_off=0.0)
        return SimpleNamespace(strings=[read], after=after)

    (known,), _ = known_from([entry("filing", 0.7), entry(work, 0.8)], [0.5], Hand())
    assert known is not None
    assert known.floor.between().high == pytest.approx(high, abs=0.03)


@pytest.mark.parametrize("doubt", ["", "rose"])
def test_of_an_attempt_only_what_was_in_doubt_counts_as_read_once(doubt: str) -> None:
    def entry(doubt: str) -> Any:
        gaps = [SimpleNamespace(floor_low=0.6, floor_high=0.7)]
        return SimpleNamespace(strings=[SimpleNamespace(doubt=doubt, gaps=gaps, file_off=0.0)], after="nothing")

    (known,), _ = known_from([entry("")], [0.5], Hand(), attempt=entry(doubt))
    assert known is not None
    assert (known.doubted is not None) == bool(doubt)
    assert known_from([], [0.5], Hand(), attempt=entry(doubt))[0] == [None]


def test_two_checks_of_a_string_that_leave_a_gap_between_them_disagree_by_it() -> None:
    low, high = Gap("feeler", 0.3, 0.35, 0.10, 0.15), Gap("sliver", 0.1, 0.15, 0.22, 0.30)
    (told,) = disagreeing(of_string(2, "A1"), [low, high])
    assert told.value("apart") == pytest.approx(0.07)
    assert (told.strings, told.value("checks")) == ((2,), ("feeler", "sliver"))
    assert disagreeing(of_string(2, "A1"), [low]) == []


def test_steps_of_a_cut() -> None:
    """Down to the last 0.05 and a look, where there is a stop's worth to take off before it."""
    nut = solve(read_spec(kind_path("electric-6")))
    cuts = {cut: steps_of(cut, nut, nut.slots[0], MATERIALS["bone"]) for cut in (0.0, 0.08, 0.3)}
    told = {cut: [(one.code, one.value("amount")) for one in steps] for cut, steps in cuts.items()}
    assert told == {
        0.0: [],
        0.08: [("file.in-strokes", pytest.approx(0.08))],
        0.3: [("file.to-stack", pytest.approx(0.25)), ("file.last-in-strokes", pytest.approx(0.05))],
    }


@pytest.mark.parametrize(
    ("cut", "told"),
    [
        (0.08, [("file.in-strokes", 0.08)]),
        (0.16, [("file.less-sheets", 0.102), ("file.last-in-strokes", 0.058)]),
        (0.25, [("file.less-sheets", 0.204), ("file.last-in-strokes", 0.046)]),
        (0.36, [("file.less-sheets", 0.295), ("file.last-in-strokes", 0.065)]),
    ],
)
def test_sheets_come_out_from_under_the_steel(cut: float, told: list[tuple[str, float]]) -> None:
    """Paper 0.102 and card 0.295 thick: as many as make all but the last 0.05, by hand."""
    nut = solve(read_spec(kind_path("electric-6")))
    sheets = (Sheet("paper", 0.102), Sheet("card", 0.295))
    steps = steps_of(cut, nut, nut.slots[0], MATERIALS["bone"], sheets)
    assert [one.code for one in steps] == [code for code, _ in told]
    assert [one.value("amount") for one in steps] == pytest.approx([amount for _, amount in told])
    assert all(map(sentence, steps))


@pytest.mark.parametrize(
    ("rough", "unread", "verdict", "remark"),
    [
        ([0.3] * 6, ("sliver",), "file", ""),
        ([0.01] * 6, ("sliver",), "leave", "dry-fit.sliver-too"),
        ([0.01] * 6, ("feeler",), "leave", "dry-fit.feeler-too"),
        ([-0.2] * 6, (), "low", ""),
        ([0.01] * 6, ("relief", "action"), "leave", "neck.relief-not-read"),
        ([0.01] * 6, ("action",), "leave", "neck.action-not-read"),
    ],
)
def test_all_that_is_said_has_words_and_numbers(rough: list[float], unread: Any, verdict: str, remark: str) -> None:
    bench = Bench.of(NUTS["electric-6"], 3, rough=rough)
    fit = bench.judge(bench.read().model_copy(update=dict.fromkeys(unread)), [])
    told = [*fit.ways_back, *fit.remarks, *fit.cautions, *(one for s in fit.strings for one in (s.says, *s.steps))]
    assert all(map(sentence, told))
    verdicts = [string.verdict for string in fit.strings]
    assert verdict in verdicts
    assert fit.done == (set(verdicts) == {"leave"})
    assert not remark or remark in [one.code for one in fit.remarks]
    for string in fit.strings:
        assert string.says.strings == (string.number,)
        assert string.then_reads.check == ("sliver" if "feeler" in unread else "feeler")
