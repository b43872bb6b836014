# SPDX-License-Identifier: MIT
"""Every event there is can be told, with as many gaps as quantities."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from middlecut.app.batch_events import EntryWithdrawn, NoteWritten, ReadingCorrected, ReadingTaken
from middlecut.app.codec import decode_body
from middlecut.app.events import BODIES
from middlecut.app.spirit_events import PowerSet
from middlecut.app.views.event_words import event_phrase
from middlecut.units import format_quantity

LEGACY = Path(__file__).parents[1] / "legacy" / "data" / "0.1.0" / "events.jsonl"
LINES = [json.loads(line) for line in LEGACY.read_text(encoding="utf-8").splitlines()]


def shown(body: object, before: object = None) -> str:
    phrase = event_phrase(body, before)  # type: ignore[arg-type]
    return phrase.template.format(*(format_quantity(*one) for one in phrase.quantities))


@pytest.mark.parametrize("name", sorted(BODIES))
def test_every_event_is_told(name: str) -> None:
    line = next(one for one in LINES if one["type"] == name)
    text = shown(decode_body(name, line["schema"], line["payload"]))
    assert text
    assert "{" not in text
    assert "None" not in text


def test_words_and_numbers_of_a_reading() -> None:
    body = ReadingTaken("spirit", "strength", 0.623, 291.15, "20C", instrument="glass {1}")
    assert shown(body) == "Strength as read: 62.3 %vol at 18.0 °C · glass {1}"
    corrected = ReadingCorrected("id", 0.632, 291.15, reason="slip")
    assert (
        shown(corrected, body)
        == "Corrected, strength as read: 62.3 %vol becomes 63.2 %vol at 18.0 °C · slip"
    )
    assert shown(EntryWithdrawn("id"), body) == "Withdrawn: “reading.taken”"
    assert shown(EntryWithdrawn("id"), EntryWithdrawn("x")).startswith("Brought back")
    assert shown(PowerSet("spirit", power=1500.0)) == "Heating set to 1.50 kW"
    assert shown(NoteWritten("{} {0} }")) == "Note · {} {0} }"
