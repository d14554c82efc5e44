"""Codes the records of one phone, each field by a line of the table; the same as in static/formats/record_coding.js.

How the table (static/formats/return_table.json) is read: each kind lists its `head` fields (one flag for all of them,
then the changes), how its time is guessed, and its `slots`, one a field, in order. A slot's `code` is

- `symbol`: one of 2^`bits` values;
- `number`: its difference from a guess (`from`: `last` its last answer, `mean` its mean, `drift` the one drawn towards
  the other, or another field; none: 0); `not_answered` is coded apart;
- `steady`: same as last time, or else a multiple of `unit`, or else any number;
- `rate`: its difference from a rate of the field named in `of`, learnt for each version;
- `set`: the same list as last time, or else a new one; `hex`: digits; `text`: a note; `object`: canonical JSON.

With `list` it is a list of them, whose length is that of the other lists of that name. `either` holds two slots, of
which a record has one. `context` says what the chances depend on: `index`, `moved` (how the first entry moved), or a
field of this record (`now`) or of the last one (`last`), a list's entry by entry, at most `most`. What no slot holds
goes as `further` fields; a record that does not fit at all goes as its own canonical text. `by` names the field whose
values have their own last record; `sets` names slots that change the head. `optional` are slots of fields that an older
phone does not write: where they are all there, and nothing else is further, the further fields are said to be a text of
no length, which no reader of a text would have written, and the slots follow.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from webapp.formats.arithmetic import BitCoder, BodyError
from webapp.formats.decisions import Decisions
from webapp.formats.json_text import parse_json
from webapp.formats.log_record import MOST_BYTES, NOTE_BYTES, canonical
from webapp.formats.record_habits import Fields, RecordHabits
from webapp.formats.slot_coding import MOST_ENTRIES, SlotCoding, whole
from webapp.formats.slot_fit import fits, fits_optional, held
from webapp.formats.text_model import TextModel

MOST_RECORDS = 2048
MOST_DECISIONS = 400_000
MOST_TEXT = 16_384
# a longer text goes byte by byte as it is: then it cannot be longer than the body that holds it
MOST_MODELLED = 1024
KIND_BITS, OWN_TEXT = 3, 7
_DAY, _NOON, _HALF_HOUR = 1440, 720, 30
_MORNING, _AFTERNOON = 19, 32


class RecordCoding:
    """Codes record after record; when reading, the one given is empty and the one that was read comes back."""

    def __init__(
        self, coder: BitCoder, table: Mapping[str, Any], primed: TextModel, bits: Decisions | None = None
    ) -> None:
        self._coder = coder
        self._bits = bits or Decisions(coder, table["start"])
        self._kinds: list[Mapping[str, Any]] = table["kinds"]
        self._habits = RecordHabits(table["head"])
        self._model = TextModel(primed)
        self._kind_n = 0
        self._records = self._text_bytes = 0

    @property
    def is_spent(self) -> bool:
        """Whether this is more than one frame may hold: a reader's work is bounded."""
        too_long = self._text_bytes > MOST_TEXT or self._bits.made > MOST_DECISIONS
        return too_long or self._records > MOST_RECORDS

    def code(self, record: Fields) -> dict[str, Any]:
        """Codes one record, without `format` and `device`."""
        self._records += 1
        n = self._bits.symbol(f"kind {self._kind_n}", KIND_BITS, self._fitting_kind(record))
        if n == OWN_TEXT:
            return self._some_object("own", record)
        if n >= len(self._kinds):
            raise BodyError("an unknown kind")
        return self._code_fields(self._kinds[n], n, record)

    def _fitting_kind(self, record: Fields) -> int:
        for n, spec in enumerate(self._kinds):
            if spec["kind"] == record.get("kind"):
                return n if fits(spec, record) else OWN_TEXT
        return OWN_TEXT

    def _code_fields(self, spec: Mapping[str, Any], n: int, record: Fields) -> dict[str, Any]:
        kind, head = spec["kind"], self._habits.head
        self._kind_n = n
        out: dict[str, Any] = {"kind": kind}
        out["seq"] = head["seq"] + 1 + self._bits.number("seq", whole(record.get("seq")) - head["seq"] - 1)
        self._code_head(kind, spec["head"], record, out)
        at_min = whole(record.get("at_min"))
        code_time = self._code_time_after if spec["time"] == "after" else self._code_time_of_day
        out["at_min"] = code_time(kind, at_min)
        for slot in spec["slots"]:
            self._code_slot(spec, slot, record, out)
        head.update({name: out[name] for name in ("seq", "at_min", *spec["head"], *spec.get("sets", ()))})
        self._habits.remember(kind, self._group(spec, out), out)
        return {**self._code_further(kind, spec, record, out), **out}

    def _code_head(self, kind: str, names: list[str], record: Fields, out: dict[str, Any]) -> None:
        head = self._habits.head
        has_changed = self._bits.bit(f"{kind} head", int(any(record.get(name) != head[name] for name in names)))
        for name in names:
            change = whole(record.get(name)) - head[name]
            out[name] = head[name] + (self._bits.number(f"head {name}", change) if has_changed else 0)

    def _code_time_after(self, kind: str, at_min: int) -> int:
        before = self._habits.head["at_min"]
        return before + self._bits.number(f"{kind} after", at_min - before)

    def _code_time_of_day(self, kind: str, at_min: int) -> int:
        """Codes the day by its distance, then morning or not, the half hour by the usual one, the minute in it."""
        before = self._habits.head["at_min"]
        was_late = int(before % _DAY >= _NOON)
        days = self._bits.number(f"{kind} days {was_late}", at_min // _DAY - before // _DAY)
        late = self._bits.bit(f"late {min(abs(days), 2)}{was_late}", int(at_min % _DAY >= _NOON))
        usual = self._habits.mean(f"half {late}", _AFTERNOON if late else _MORNING)
        away = self._bits.number(f"half {late}", at_min % _DAY // _HALF_HOUR - usual)
        minute = self._bits.symbol(f"minute {max(-2, min(2, away))}", 5, at_min % _HALF_HOUR)
        self._habits.see(f"half {late}", usual + away)
        return (before // _DAY + days) * _DAY + (usual + away) * _HALF_HOUR + minute

    def _group(self, spec: Mapping[str, Any], out: Fields) -> str:
        return f" {out.get(spec['by'], '')}" if "by" in spec else ""

    def _code_slot(self, spec: Mapping[str, Any], slot: Mapping[str, Any], record: Fields, out: dict[str, Any]) -> None:
        kind, group = spec["kind"], self._group(spec, out)
        if "either" in slot:
            known = int(slot["either"][1]["field"] in self._habits.last(kind))
            which = self._bits.bit(f"{kind} either {known}", int(slot["either"][0]["field"] not in record))
            slot = slot["either"][which]
        field, name = slot["field"], f"{kind}.{slot['field']}"
        given = record.get(field)
        if slot["code"] in ("text", "hex", "object"):
            out[field] = self._code_text(slot["code"], name, given)
            return
        last = self._habits.last(kind, group)
        coding = SlotCoding(bits=self._bits, habits=self._habits, slot=slot, name=name, group=group, last=last, out=out)
        out[field] = coding.code(given)

    def _code_text(self, code: str, name: str, given: object) -> object:
        if code == "object":
            return self._some_object(name, given if isinstance(given, dict) else {})
        text = given if isinstance(given, str) else ""
        return self._code_hex(name, text) if code == "hex" else self._code_note(name, text)

    def _code_further(
        self, kind: str, spec: Mapping[str, Any], record: Fields, out: dict[str, Any]
    ) -> dict[str, Any]:
        known = held(spec, record)
        further = {name: value for name, value in record.items() if name not in known}
        if not self._bits.bit(f"{kind} further", int(bool(further))):
            return {}
        found = self._code_object("further", further, is_empty=fits_optional(spec, further))
        if found is not None:
            return found
        for slot in spec.get("optional", ()):
            self._code_slot(spec, slot, record, out)
        return {}

    def _code_hex(self, name: str, digits: str) -> str:
        length = self._bits.count(f"{name}#", len(digits))
        if length > MOST_ENTRIES:
            raise BodyError("too many digits")
        return "".join(f"{self._bits.flat(4, int(digits[n : n + 1] or '0', 16)):x}" for n in range(length))

    def _code_note(self, name: str, note: str) -> str:
        if not self._bits.bit(name, int(note != "")):
            return ""
        return self._code_modelled(note.encode(), NOTE_BYTES).decode()

    def _some_object(self, name: str, given: Fields) -> dict[str, Any]:
        found = self._code_object(name, given)
        if found is None:
            raise BodyError("not an object")
        return found

    def _code_object(self, name: str, given: Fields, *, is_empty: bool = False) -> dict[str, Any] | None:
        """Codes an object as its text; None where that has no length."""
        text = b"" if is_empty else canonical(given)
        if self._bits.bit(f"{name} long", int(is_empty or len(text) > MOST_MODELLED)):
            length = self._bits.count(f"{name} length", len(text))
            if length > MOST_BYTES:
                raise BodyError("a text is too long")
            if not length:
                return None
            text = bytes(self._bits.flat(8, text[n] if n < len(text) else 0) for n in range(length))
        else:
            text = self._code_modelled(text, MOST_MODELLED)
        found = parse_json(text, MOST_BYTES)
        if not isinstance(found, dict):
            raise BodyError("not an object")
        return found

    def _code_modelled(self, text: bytes, most: int) -> bytes:
        """Codes a text and the zero byte that ends it."""
        out = bytearray()
        while byte := self._model.code(self._coder, text[len(out)] if len(out) < len(text) else 0):
            out.append(byte)
            if len(out) > most:
                raise BodyError("a text is too long")
        self._text_bytes += len(out) + 1
        return bytes(out)
