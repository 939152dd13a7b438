"""The asking ladder: what is said when an answer was not understood.

Each miss at an item goes one step up: a short question; what would be understood; what was
heard so far, to choose from; digit by digit, or nothing but one of the phrases; the way out.
From there on the misses are counted aloud, so that no two of them are put in the same words.
A question that is open counts its own misses, and words itself by their number.

Nothing here records anything: what was heard and not believed is only ever named in a
question, and the person has to say the right answer.
"""

from collections.abc import Iterable
from typing import Final

from voiceflow.checks.model import Item
from voiceflow.dialogue.events import Utterance
from voiceflow.dialogue.questions import question
from voiceflow.dialogue.state import PendingAnswer, State
from voiceflow.dialogue.summaries import choices, spoken_value
from voiceflow.dialogue.turn import Turn
from voiceflow.grammar.meaning import (
    Ambiguous,
    Answer,
    Correction,
    Meaning,
    NoMatch,
    Reading,
    Response,
    ResponseState,
)
from voiceflow.phraseology.prompts import (
    AskAgain,
    OffScale,
    Prompt,
    Rung,
    SayTheSetting,
    SpokenValue,
    WhichOne,
)

#: How many of the answers heard so far are named: more cannot be told apart by ear.
ALTERNATIVES_SAID: Final = 3

_RUNGS: Final = tuple(Rung)


def not_understood(turn: Turn, utterance: Utterance | None, *before: Prompt) -> None:
    """Ask again, never in the same words: the open question first, else one step up.

    Args:
        turn: The turn.
        utterance: What was heard; none if it is the tool that has nothing new to say.
        before: What is said first.
    """
    turn.set(attempts=turn.state.attempts + 1, fresh=False)
    meaning = utterance.meaning if utterance else None
    if meaning is not None:
        remember(turn, _possible(meaning))
    if turn.state.pending is not None:
        turn.say(*before, question(turn))
        return
    off_scale = _off_scale(turn.item, meaning)
    if off_scale is not None and off_scale not in turn.state.last_said:
        turn.say(*before, off_scale)
        return
    rung = _next(turn.state)
    turn.set(rung=rung)
    turn.say(*before, _words(turn, rung, meaning))


def choose(turn: Turn, options: tuple[Answer, ...], *before: Prompt) -> None:
    """Ask which of several answers was meant."""
    turn.set(attempts=turn.state.attempts + 1, fresh=False)
    remember(turn, options)
    rung = _next(turn.state)
    turn.set(rung=rung)
    turn.say(*before, _words(turn, rung, Ambiguous(options=options)))


def insufficient(turn: Turn, said: str, *before: Prompt) -> None:
    """Say that the words state no setting, and what would; said again, go up the ladder."""
    item = turn.item
    asked = SayTheSetting(
        challenge=item.challenge,
        said=said,
        choices=choices(item),
        wants_number=item.reading is not None,
    )
    if asked in turn.state.last_said:
        not_understood(turn, None, *before)
        return
    state = turn.state
    turn.set(fresh=False)
    if state.pending is None:
        # it tells what is expected: the next step is the one after that
        rung = max(state.rung or Rung.QUESTION, Rung.EXPECTED, key=_RUNGS.index)
        turn.set(rung=rung, attempts=state.attempts + 1)
    turn.say(*before, asked)


def remark(turn: Turn, *prompts: Prompt) -> None:
    """Say what changes nothing, and the question after it; not twice in the same words."""
    state = turn.state
    if state.last_said == prompts:
        if state.pending is None and state.rung is None:
            # the words were understood: they only answer nothing
            turn.set(rung=Rung.QUESTION)
        not_understood(turn, None)
    else:
        turn.say(*prompts)


def remember(turn: Turn, answers: Iterable[Answer]) -> None:
    """Keep answers that were heard and not believed, the last one heard first."""
    has_gauge = turn.item.reading is not None
    new = tuple(one for one in answers if has_gauge or isinstance(one, Response))
    if new:
        kept = (one for one in turn.state.heard if one not in new)
        turn.set(heard=tuple(dict.fromkeys((*new, *kept))))


def named(prompt: Prompt, answered: Answer) -> bool:
    """Tell whether a question names the very answer, so that it may be the tool's own voice."""
    if isinstance(prompt, AskAgain | WhichOne):
        values, phrases = prompt.values, prompt.phrases
        if isinstance(prompt, AskAgain):
            phrases = (*phrases, *prompt.choices)
    elif isinstance(prompt, SayTheSetting):
        values, phrases = (), prompt.choices
    else:
        return False
    if isinstance(answered, Response):
        return answered.phrase in phrases
    return any(value.value == answered.value for value in values)


def which_one(item: Item, options: Iterable[object], attempt: int = 0) -> WhichOne:
    """Give the question that names what the words could mean."""
    values, phrases = _spoken(item, options)
    return WhichOne(values=values, phrases=phrases, attempt=attempt)


def alternatives(state: State) -> tuple[Answer, ...]:
    """Give the answers to choose from: heard, not refused, most likely first, a few.

    Two ways to say that all is as expected are one choice.
    """
    found: list[Answer] = []
    for one in state.heard:
        is_same = isinstance(one, Response) and one.state is ResponseState.AS_EXPECTED
        said = is_same and any(
            isinstance(other, Response) and other.state is ResponseState.AS_EXPECTED
            for other in found
        )
        if one not in state.refused and not said:
            found.append(one)
    return tuple(found[:ALTERNATIVES_SAID])


def _possible(meaning: Meaning) -> tuple[Answer, ...]:
    """Give the answers that an utterance may have been."""
    found: tuple[object, ...]
    match meaning:
        case Ambiguous():
            found = meaning.options
        case Correction():
            found = meaning.this
        case NoMatch():
            found = meaning.alternatives
        case _:
            found = (meaning,)
    return tuple(
        one
        for one in found
        if isinstance(one, Reading)
        or (isinstance(one, Response) and one.state is not ResponseState.INSUFFICIENT)
    )


def _next(state: State) -> Rung:
    """Give the next step up; past what was heard if there is nothing new to choose from."""
    if state.rung is None:
        return Rung.QUESTION
    place = min(_RUNGS.index(state.rung) + 1, len(_RUNGS) - 1)
    if _RUNGS[place] is Rung.ALTERNATIVES and not alternatives(state):
        place += 1
    return _RUNGS[place]


def _words(turn: Turn, rung: Rung, meaning: Meaning | None) -> Prompt:
    state, item = turn.state, turn.item
    if isinstance(meaning, Ambiguous) and rung in (Rung.QUESTION, Rung.EXPECTED):
        asked = which_one(item, _possible(meaning), attempt=_RUNGS.index(rung))
        if len(asked.values) + len(asked.phrases) > 1:
            return asked
    heard: tuple[Answer, ...] = ()
    if rung in (Rung.ALTERNATIVES, Rung.AGAIN):
        heard = alternatives(state)
    values, phrases = _spoken(item, heard)
    return AskAgain(
        attempt=state.attempts,
        challenge=item.challenge,
        rung=rung,
        choices=choices(item),
        wants_number=item.reading is not None,
        suggestion=meaning.suggestion if isinstance(meaning, NoMatch) else None,
        values=values,
        phrases=phrases,
        keyboard=state.keyboard,
    )


def _spoken(
    item: Item, options: Iterable[object]
) -> tuple[tuple[SpokenValue, ...], tuple[str, ...]]:
    options = tuple(options)
    values: tuple[SpokenValue, ...] = ()
    if item.reading is not None:
        values = tuple(
            spoken_value(item, option.value) for option in options if isinstance(option, Reading)
        )
    return values, tuple(option.phrase for option in options if isinstance(option, Response))


def _off_scale(item: Item, meaning: Meaning | None) -> OffScale | None:
    if not isinstance(meaning, NoMatch) or meaning.off_scale is None or item.reading is None:
        return None
    scale = item.reading.scale
    between = scale.lowest <= meaning.off_scale <= scale.highest
    return OffScale(
        challenge=item.challenge,
        lowest=spoken_value(item, scale.lowest),
        highest=spoken_value(item, scale.highest),
        step=spoken_value(item, scale.step) if between else None,
    )


def refuse(turn: Turn) -> tuple[Answer, ...]:
    """Note that the answer in question is not what was meant; give all that were refused."""
    pending = turn.state.pending
    if isinstance(pending, PendingAnswer):
        turn.set(refused=(*turn.state.refused, pending.answer))
    return turn.state.refused
