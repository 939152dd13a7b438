"""What was mixed up in a listening test: counted, and as findings in the files."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from voiceflow.checks.problem import Problem
from voiceflow.grammar.meaning import Command, Correction, Meaning, Reading, Response
from voiceflow.lint.listening.trial import Trial
from voiceflow.lint.subject import Subject, Where

RULE = "mixed-up"


@dataclass(frozen=True, slots=True, kw_only=True)
class Confusion:
    """One phrase or value, and what else it was taken for.

    Attributes:
        item_id: The item.
        said: The response, or the value with its unit.
        heard: What it was taken for.
        count: How often.
        of: How often it was said.
        where: In which voices and noises, with how often in each.
        meaning: What was meant.
    """

    item_id: str
    said: str
    heard: str
    count: int
    of: int
    where: tuple[tuple[str, int], ...]
    meaning: Response | Reading

    @property
    def share(self) -> float:
        """Part of the sayings, 0 to 1."""
        return self.count / self.of


def confusions(trials: Sequence[Trial]) -> tuple[Confusion, ...]:
    """Count what was taken for something else, the most frequent first."""
    said = Counter((trial.saying.item_id, label(trial.saying.meaning)) for trial in trials)
    mixed: dict[tuple[str, str, str], list[Trial]] = {}
    for trial in trials:
        if trial.is_mixed_up and trial.heard is not None:
            key = (trial.saying.item_id, label(trial.saying.meaning), label(trial.heard))
            mixed.setdefault(key, []).append(trial)
    found = [
        Confusion(
            item_id=item_id,
            said=what,
            heard=heard,
            count=len(group),
            of=said[item_id, what],
            where=tuple(Counter(_condition(trial) for trial in group).most_common()),
            meaning=group[0].saying.meaning,
        )
        for (item_id, what, heard), group in mixed.items()
    ]
    return tuple(sorted(found, key=lambda each: (-each.share, -each.count, each.item_id)))


def label(meaning: Meaning) -> str:
    """Give a meaning in a few words."""
    match meaning:
        case Response():
            return meaning.phrase
        case Reading():
            return f"{meaning.value} {meaning.unit}".strip()
        case Command():
            return f"command {meaning.name}"
        case Correction():
            return f"correction to {', '.join(label(each) for each in meaning.this) or 'another'}"
        case _:
            return "two things"


def find(
    subject: Subject, found: Sequence[Confusion], *, least_share: float, least_count: int = 2
) -> Iterator[Problem]:
    """Give what is mixed up too often as findings at the place of the phrase.

    Args:
        subject: The check file and the personal file.
        found: What was counted.
        least_share: Mixed up in at least this part of the sayings, 0 to 1.
        least_count: And at least this often: once is chance.
    """
    places = {item.id: (written, item) for written, item in subject.items()}
    for each in found:
        if each.share < least_share or each.count < least_count or each.item_id not in places:
            continue
        written, item = places[each.item_id]
        where: Where = (*written.path, "reading", "scale")
        remedy = "Widen the step if the gauge allows it, or listen to the readbacks."
        if isinstance(each.meaning, Response):
            texts = {phrase.text: phrase.path for phrase in subject.phrases(written, item)}
            where = texts.get(each.said, written.path)
            remedy = "Use words that sound different."
        conditions = ", ".join(f"{name} {count}" for name, count in each.where)
        yield subject.warning(
            where,
            RULE,
            f"{each.said!r} was heard as {each.heard!r} in {each.count} of {each.of} sayings "
            f"({conditions})",
            remedy,
            item,
        )


def _condition(trial: Trial) -> str:
    return f"{trial.voice.rpartition('/')[2]} {trial.rate_wpm} wpm {trial.snr_db:g} dB"
