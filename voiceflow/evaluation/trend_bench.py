"""How soon the journal says how gauges go: before a run, at a reading, and as a page."""

import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Final

from voiceflow.checks.model import Check
from voiceflow.dialogue.brief import Brief, TrendNote
from voiceflow.dialogue.events import Heard, Started, Utterance
from voiceflow.dialogue.machine import begin, handle
from voiceflow.grammar.meaning import Reading
from voiceflow.history.trends import trend_notes, window_start
from voiceflow.journal.store import Journal
from voiceflow.languages.registry import language
from voiceflow.limits.computed import Conditions
from voiceflow.phraseology.prompts import TrendRemark

_TIMES: Final = 5
_WARM: Final = Conditions(temperature_c=Decimal(15), crew=2, hours=Decimal(1))


def tell_trends(journal: Journal, tail: str, path: Path) -> Iterator[str]:
    """Measure and tell, a line each.

    Args:
        journal: The journal, open.
        tail: An aircraft that has runs in it.
        path: Its file, for the command itself.

    Raises:
        JournalError: If it cannot be read.
    """
    last = journal.answers(tail)[-1]
    check = journal.header(last.run_id).check
    now = datetime.fromisoformat(last.started_at) + timedelta(days=1)
    since = window_start(now).isoformat()

    def notes() -> tuple[TrendNote, ...]:
        return trend_notes(check, journal.answers(tail, since=since), _WARM, now)

    notes_ms = _median_ms(notes)
    yield f"slopes for the brief of a run of {tail}: {len(notes())} in {notes_ms:.0f} ms"
    sentence, said_ms = _sentence(check)
    yield f"at a reading, from the event to the words {sentence!r}: {said_ms:.1f} ms"
    command = [sys.executable, "-m", "voiceflow", "trend", tail, "--journal", str(path)]
    whole_ms = _median_ms(lambda: subprocess.run(command, check=True, capture_output=True))
    size = path.with_name(f"voiceflow-trend-{tail}.html").stat().st_size
    yield f"voiceflow trend {tail}, the whole command: {whole_ms / 1000:.2f} s, page of {size} bytes"


def _sentence(check: Check) -> tuple[str, float]:
    """Give what is said at the first reading with a minimum, and how soon, milliseconds."""
    item = next(
        item for item in check.items if item.reading and item.reading.limit.minimum is not None
    )
    if item.reading is None or item.reading.limit.minimum is None:
        return "", 0.0
    step = item.reading.scale.step
    value = item.reading.limit.minimum + 9 * step
    fall = -float(step)
    note = TrendNote(
        item_id=item.id, per_day=fall, low=fall * 1.1, high=fall * 0.9, count=20, days=20.0
    )
    alone = replace(check, items=(item,), parts=())
    state = handle(begin(alone, brief=Brief(trends=(note,))), Started(at_s=0.0)).state
    utterance = Utterance(
        text=str(value),
        meaning=Reading(value=value, unit=item.reading.unit),
        confidence=1.0,
        engine="typed",
        speech_start_s=1.0,
        speech_end_s=2.0,
    )
    event = Heard(at_s=2.0, item_id=item.id, utterance=utterance)
    pack = language(check.language)

    def words() -> str:
        step = handle(state, event)
        prompts = (prompt for say in step.actions if say.kind == "say" for prompt in say.prompts)
        return " ".join(pack.wording(one) for one in prompts if isinstance(one, TrendRemark))

    return words(), _median_ms(words)


def _median_ms(work: Callable[[], object]) -> float:
    times = []
    for _ in range(_TIMES):
        begun = perf_counter()
        work()
        times.append((perf_counter() - begun) * 1000)
    return median(times)
