"""The answers so far: what is known of the instrument, with the chosen kind behind every default."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from nutgen.ask.values import default_length, default_string, number, shown
from nutgen.errors import Unreadable
from nutgen.finding import unshowable
from nutgen.spec.strings import MOST_STRINGS
from nutgen.theory.readings import middle_fret

VERSION = 1
SKIP = "skip"
"""The answer that leaves a reading to the kind's value, marked as not measured."""


@dataclass(frozen=True, slots=True)
class Draft:
    """Answers of one conversation.

    kind_name : the kind that gives the defaults
    kind      : its file as plain values
    answers   : as typed, by the key of the question
    """

    kind_name: str
    kind: Mapping[str, Any]
    answers: Mapping[str, str]

    def with_answer(self, key: str, text: str) -> "Draft":
        """The draft with one more answer, or another."""
        return replace(self, answers={**self.answers, key: text})

    @property
    def units(self) -> str:
        """Of bare lengths."""
        return self.answers.get("units") or str(self.kind.get("units", "mm"))

    @property
    def gauge_units(self) -> str:
        """Of bare gauges."""
        return str(self.kind.get("gauge_units", "in"))

    @property
    def has_leaves(self) -> bool:
        """Whether there are feeler leaves on the bench."""
        return self.answers.get("leaves", "none") != "none"

    @property
    def by_pencil(self) -> bool:
        """Whether the fret plane is drawn by a pencil that lies on the frets."""
        return self.answers.get("fret plane by") == "pencil"

    @property
    def count(self) -> int:
        """How many strings there are."""
        count = number(self.answers.get("strings", ""))
        return min(count, MOST_STRINGS) if isinstance(count, int) and count > 0 else len(self.kind["strings"])

    @property
    def least(self) -> bool:
        """Whether the maker takes the fewest readings that reach a template."""
        return self.answers.get("extent") == "least"

    @property
    def _kind_rule(self) -> str:
        return str(self.kind["spacing"].get("rule", "gaps"))

    @property
    def computes_spacing(self) -> bool:
        """Whether centres that are not measured follow from a rule."""
        return self.least and self._kind_rule != "measured"

    @property
    def barred(self) -> bool:
        """Whether a bar lies on the strings, so that nothing is read over frets."""
        return "lap" in self.kind

    def given(self, key: str) -> str:
        """What was answered; empty where nothing was, or the reading was skipped."""
        text = self.answers.get(key, "")
        return "" if text == SKIP else text

    def word(self, key: str) -> str:
        """The answer to a question of few choices; the kind's where there is none yet."""
        if given := self.given(key):
            return given
        posts = all(self.kind_post(index) for index in range(self.count))
        old = self.least and self.answers.get("centres") != "skip"
        return {
            "spacing": "measured" if old else self._kind_rule,
            "seat": self.kind["seat"]["kind"],
            "behind the nut": "posts" if posts else "angle",
        }[key]

    @property
    def middle_fret(self) -> int:
        """Over which the relief is read."""
        frets = number(self.answers.get("frets", ""))
        return middle_fret(frets if isinstance(frets, int) and 12 <= frets <= 36 else self.kind["instrument"]["frets"])

    def kind_word(self, table: str, key: str, *, other: str = "") -> str:
        """A word or plain number of the kind's file, as typed."""
        value = self.kind.get(table, {}).get(key, other)
        if isinstance(value, Mapping):
            value = value["bass"]
        return shown(value) if isinstance(value, float) else str(value)

    def kind_length(self, table: str, key: str, side: str = "", *, half: bool = False) -> str:
        """A length of the kind's file, in the maker's units; empty where it has none."""
        value = self.kind.get(table, {}).get(key)
        if side and isinstance(value, Mapping):
            value = value[side]
        elif side and isinstance(value, list):
            value = value[0 if side == "bass" else -1]
        return default_length(value, written_in=self.kind.get("units", "mm"), units=self.units, half=half)

    @property
    def kind_centres(self) -> str:
        """Measured centres of the kind's file, where it has one for every string."""
        found = self.kind["spacing"].get("measured") or []
        if len(found) != self.count:
            return ""
        written_in = self.kind.get("units", "mm")
        return " ".join(default_length(value, written_in=written_in, units=self.units) for value in found)

    def kind_table(self, index: int) -> Mapping[str, Any] | None:
        """The kind's string at a place from the bass; counted from the treble where it has more or fewer."""
        strings = self.kind["strings"]
        place = index - self.count + len(strings)
        return strings[place] if 0 <= place < len(strings) else None

    def kind_string(self, index: int) -> str:
        """The kind's string as a line; empty where it has none there."""
        table = self.kind_table(index)
        return default_string(table) if table else ""

    def kind_post(self, index: int) -> str:
        """The kind's tuner post as a line; empty where it has none."""
        post = (self.kind_table(index) or {}).get("post")
        if not post:
            return ""
        written_in = self.kind.get("units", "mm")
        return " ".join(
            default_length(post[key], written_in=written_in, units=self.units) for key in ("y", "x", "drop")
        )

    def to_json(self) -> str:
        """The draft as the text of its file."""
        record = {"nutgen draft": VERSION, "from": self.kind_name, "answers": dict(self.answers)}
        return json.dumps(record, indent=1, ensure_ascii=False) + "\n"


def answers_from(text: str) -> tuple[str, dict[str, str]]:
    """The kind's name and the answers in the text of a draft; raises Unreadable where it is none."""
    try:
        raw = json.loads(text)
        version, kind, answers = raw["nutgen draft"], raw["from"], raw["answers"]
    except (ValueError, KeyError, TypeError, RecursionError):
        raise Unreadable("file.no-draft") from None
    texts = isinstance(answers, dict) and all(
        isinstance(item, str) and not unshowable(item) for item in [kind, *answers.values()]
    )
    if version != VERSION or not texts:
        raise Unreadable("file.other-draft")
    return kind, answers
