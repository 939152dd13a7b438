"""Measure a lexicon with talkers who say words in other ways than the general American.

Run it from the checkout with the test extra installed, and flite and espeak-ng on
the machine::

    git show COMMIT:voiceflow/languages/english/lexicon.dict > before.dict
    python audio_fixtures/accents.py radio --lexicon before.dict
    python audio_fixtures/accents.py checks --lexicon before.dict --words closed open
    python audio_fixtures/accents.py pairs --lexicon before.dict

``radio`` has readings said by the book, as ICAO Annex 10 vol. II 5.2.1.4.3.1 spells their
sounds (tree, fower, fife, ait, niner, day-see-mal, tou-sand); ``checks`` has the responses
and readings of the shipped checks in regional voices; ``pairs`` needs no sound and tells
which opposing responses, commands and numbers lie nearer by their phones than before.
Everything is synthetic speech, made anew and not kept. Without ``--score`` only voices
speak that may serve for choosing; with it only those that may not.
"""

import argparse
import itertools
import os
import random
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache, partial
from multiprocessing import get_context
from pathlib import Path

import numpy as np
from make_fixtures import CHECKS, DIGITS, LEAD_S, Place, Spoken, Voice, places, record, speak

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.evaluation.metrics import Result, judge_recording, wilson
from voiceflow.evaluation.noise import Noise, coloured, mix, seed_of
from voiceflow.grammar.confusability import phrase_distance
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import Meaning, Reading, Response
from voiceflow.languages.english.lexicon import read_lexicon
from voiceflow.languages.registry import language
from voiceflow.lint.listening.sayings import sayings
from voiceflow.phraseology.language import Language, Pronunciation
from voiceflow.recognition.engines.pocketsphinx import bundled_pronunciations
from voiceflow.session.engines import make_recogniser
from voiceflow.session.hearing import hear

#: Who speaks: for choosing, and for the figures. No voice is in both.
RADIO = (
    Voice(program="espeak-ng", name="en-gb"),
    Voice(program="espeak-ng", name="en-gb-x-rp"),
    Voice(program="espeak-ng", name="en-gb-x-gbclan"),
    Voice(program="espeak-ng", name="en-029"),
    Voice(program="flite", name="slt"),
    Voice(program="flite", name="rms"),
)
REGIONAL = (
    *RADIO[:3],
    Voice(program="espeak-ng", name="en-gb-x-gbcwmd"),
    Voice(program="espeak-ng", name="en-029"),
)
SCORING = (
    Voice(program="espeak-ng", name="en-gb-scotland"),
    Voice(program="espeak-ng", name="en-us"),
    Voice(program="flite", name="awb"),
    Voice(program="flite", name="kal16"),
)
SNRS_DB = (None, 15.0)
SEED = 42

#: How each program has to be spelt to so that it says the sounds of the published table; read
#: off what it gives as phonemes. Half of eSpeak NG's thousands have the Z that people use.
BY_THE_BOOK = {
    "three": "tree",
    "four": "foer",
    "five": "fife",
    "eight": "ait",
    "nine": "niner",
    "decimal": "dayseemal",
}
THOUSAND = {"espeak-ng": ("tousand", "[[t'aUz@nd]]"), "flite": ("tausand",)}
#: Gauges of the shipped check, and how many values of each.
GAUGES = {
    "crew-oxygen": 8,
    "brake-pressure": 8,
    "left-fuel": 8,
    "altimeter": 8,
    "nose-tyre": 4,
    "battery-volts": 4,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Saying:
    """What is said, its spelling for each program, and where."""

    spoken: Spoken
    spelt: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One talker in one noise, heard with one lexicon."""

    voice: Voice
    snr_db: float | None
    lexicon: Path | None
    sayings: tuple[Saying, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What became of one saying."""

    text: str
    item: str
    result: Result
    heard: str
    is_opposite: bool


# --- what is said ------------------------------------------------------------------------


def by_the_book() -> Iterator[Saying]:
    """Readings digit by digit, in thousands and hundreds, and with the decimal, by the table."""
    dice = random.Random(SEED)
    here = {place.item.id: place for place in places() if place.check.id == CHECKS[0]}
    for item, count in GAUGES.items():
        spec = here[item].item.reading
        if spec is None:
            raise ValueError(item)
        marks = list(spec.scale.values())
        # half of them whole hundreds where there are such, to be said in thousands
        hundreds = [mark for mark in marks if mark >= 100 and mark % 100 == 0]
        values = dice.sample(hundreds, min(count // 2, len(hundreds)))
        values += dice.sample([mark for mark in marks if mark >= 10], count - len(values))
        for turn, value in enumerate(values):
            words = _words(value, in_thousands=value in hundreds and turn < count // 2)
            spoken = Spoken(
                check=CHECKS[0],
                item=item,
                text=" ".join("niner" if word == "nine" else word for word in words),
                meaning=Reading(value=value, unit=spec.unit),
                form="by the book",
            )
            if spoken.meaning == here[item].grammar.meaning(tuple(spoken.text.split())):
                spelt = {
                    program: " ".join(
                        BY_THE_BOOK.get(
                            word, ways[turn % len(ways)] if word == "thousand" else word
                        )
                        for word in words
                    )
                    for program, ways in THOUSAND.items()
                }
                yield Saying(spoken=spoken, spelt=spelt)


def _words(value: Decimal, *, in_thousands: bool) -> list[str]:
    if not in_thousands:
        return ["decimal" if one == "." else DIGITS[int(one)] for one in str(value)]
    thousands, hundreds = divmod(int(value) // 100, 10)
    words = [*(DIGITS[int(one)] for one in str(thousands)), "thousand"] if thousands else []
    return [*words, DIGITS[hundreds], "hundred"] if hundreds else words


def of_the_checks(words: Iterable[str]) -> Iterator[Saying]:
    """Responses and readings of the shipped checks, the readings with names and without.

    With words: responses of the items where one of them is heard in a response, and
    readings with a name that has one.
    """
    wanted = frozenset(words)
    for place in places():
        item, tokenise = place.item, place.pack.tokenise
        said = tuple(sayings(item, place.pack, readings=6, forms=1))
        plain = [one for one in said if isinstance(one.meaning, Response)]
        if wanted and not any(wanted.intersection(tokenise(one.text)) for one in plain):
            plain = []
        read = [one for one in said if isinstance(one.meaning, Reading)]
        names = item.reading.names if item.reading else ()
        named = [
            replace(one, text=f"{name} {one.text}")
            for turn, name in enumerate(names)
            for one in read[turn + 1 : turn + 3]
            if not wanted or wanted.intersection(tokenise(name))
        ]
        for one in (*plain, *([] if wanted else read), *named):
            spoken = Spoken(
                check=place.check.id, item=item.id, text=one.text, meaning=one.meaning, form=""
            )
            yield Saying(spoken=spoken, spelt=dict.fromkeys(THOUSAND, one.text))


# --- hearing -----------------------------------------------------------------------------


def sound_of(saying: Saying, voice: Voice, snr_db: float | None) -> Samples:
    """Speak in a quiet room, and in pink noise if a ratio is given."""
    seed = seed_of(f"{voice} {saying.spoken.text}")
    speech = speak(voice, saying.spelt[voice.program])
    whole = record(speech, seed % 2**32)
    samples = np.clip(np.round(whole * 32768), -32768, 32767).astype(np.int16)
    if snr_db is None:
        return samples
    dice = np.random.default_rng(seed)
    during = (LEAD_S, LEAD_S + len(speech) / RATE_HZ)
    return mix(samples, during, coloured(Noise.PINK, len(samples), dice), snr_db)


def pack_of(lexicon: Path | None) -> Language:
    """Give the English pack, with another lexicon if one is named."""
    if lexicon is None:
        return language("en")
    ways = read_lexicon(lexicon.read_text("utf-8"))
    return replace(language("en"), pronunciations=ways, phones=lambda word: ways.get(word, ()))


def hear_all(job: Job) -> tuple[Found, ...]:
    """Hear what one talker says, with one recogniser, as in a session."""
    pack = pack_of(job.lexicon)
    grammars: dict[tuple[str, str], tuple[Place, ItemGrammar]] = {
        (place.check.id, place.item.id): (place, compile_item(place.item, pack))
        for place in places()
    }
    found: list[Found] = []
    with closing(make_recogniser(pack, "pocketsphinx", None)) as recogniser:
        for saying in job.sayings:
            meant = saying.spoken.meaning
            place, grammar = grammars[saying.spoken.check, saying.spoken.item]
            hearings = hear(
                sound_of(saying, job.voice, job.snr_db),
                item=place.item,
                grammar=grammar,
                language=pack,
                recogniser=recogniser,
            )
            pairs = [(_alike(meant, one.utterance.meaning), one.decision) for one in hearings]
            result = judge_recording(meant, pairs)
            is_wrong = result in (Result.WRONG_ACCEPTED, Result.WRONG_CONFIRMED)
            found.append(
                Found(
                    text=saying.spoken.text,
                    item=saying.spoken.item,
                    result=result,
                    heard=" / ".join(one.utterance.text for one in hearings),
                    is_opposite=is_wrong
                    and isinstance(meant, Response)
                    and any(
                        isinstance(one, Response) and one.state != meant.state for one, _ in pairs
                    ),
                )
            )
    return tuple(found)


def _alike(meant: Meaning, heard: Meaning) -> Meaning:
    """One response of a state is as good as another."""
    if isinstance(meant, Response) and isinstance(heard, Response) and meant.state is heard.state:
        return meant
    return heard


# --- figures -----------------------------------------------------------------------------


def table(jobs: Sequence[Job], results: Sequence[tuple[Found, ...]]) -> Iterator[str]:
    """Give a line for each lexicon, talker and noise, and one for each lexicon in all."""
    yield f"{'lexicon':<16}{'talker':<27}{'noise':<8}{'said':>5}  {'right':<24}{'wrong, taken':<22}{'wrong, asked':>12}{'opposite':>9}"
    for lexicon in dict.fromkeys(job.lexicon for job in jobs):
        mine = [
            (job, found) for job, found in zip(jobs, results, strict=True) if job.lexicon == lexicon
        ]
        name = _name(lexicon)
        for job, found in mine:
            yield f"{name:<16}{job.voice!s:<27}{_noise(job.snr_db):<8}" + _counts(found)
        for snr_db in dict.fromkeys(job.snr_db for job in jobs):
            every = [one for job, found in mine if job.snr_db == snr_db for one in found]
            yield f"{name:<16}{'all':<27}{_noise(snr_db):<8}" + _counts(every)


def _name(lexicon: Path | None) -> str:
    return "as it is" if lexicon is None else lexicon.stem


def _noise(snr_db: float | None) -> str:
    return "clean" if snr_db is None else f"{snr_db:.0f} dB"


def _counts(found: Sequence[Found]) -> str:
    results = [one.result for one in found]
    right, wrong = results.count(Result.RIGHT), results.count(Result.WRONG_ACCEPTED)
    confirmed = results.count(Result.WRONG_CONFIRMED)
    opposite = sum(one.is_opposite for one in found)
    return (
        f"{len(found):>5}  {_share(right, len(found)):<24}{_share(wrong, len(found)):<22}"
        f"{confirmed:>12}{opposite:>9}"
    )


def _share(count: int, of: int) -> str:
    bounds = wilson(count, of)
    return f"{count} ({100 * bounds.low:.1f} to {100 * bounds.high:.1f} %)"


def differences(jobs: Sequence[Job], results: Sequence[tuple[Found, ...]]) -> Iterator[str]:
    """Give what became otherwise with each lexicon than with the first."""
    first = {
        (job.voice, job.snr_db): found
        for job, found in zip(jobs, results, strict=True)
        if job.lexicon == jobs[0].lexicon
    }
    for job, found in zip(jobs, results, strict=True):
        for before, after in zip(first[job.voice, job.snr_db], found, strict=True):
            if before.result != after.result:
                yield (
                    f"  {_name(job.lexicon)}: {job.voice} {_noise(job.snr_db)} {after.item}: "
                    f"{after.text!r}: {before.result} {before.heard!r} -> "
                    f"{after.result} {after.heard!r}{' OPPOSITE' if after.is_opposite else ''}"
                )


def misheard(jobs: Sequence[Job], results: Sequence[tuple[Found, ...]]) -> Iterator[str]:
    """Give everything that did not come out right with the lexicon as it is."""
    for job, found in zip(jobs, results, strict=True):
        for one in found:
            if job.lexicon is None and one.result is not Result.RIGHT:
                yield f"  {job.voice} {_noise(job.snr_db)} {one.item}: {one.text!r}: {one.result} {one.heard!r}"


# --- phones ------------------------------------------------------------------------------


def nearer_pairs(before: Language, after: Language) -> Iterator[str]:
    """Tell the pairs that must not be mixed up and lie nearer by their phones than before."""

    def phones(pack: Language, word: str) -> tuple[Pronunciation, ...]:
        return _phones(word, pack.pronunciations.get(word, ()))

    pairs: dict[tuple[tuple[str, ...], tuple[str, ...]], str] = {}
    commands = [tuple(phrase.split()) for phrases in after.commands.values() for phrase in phrases]
    for place in places():
        good = [place.pack.tokenise(phrase) for phrase in place.item.expect]
        bad = [place.pack.tokenise(phrase) for phrase in place.item.not_as_expected]
        for one, other in itertools.product(good, bad):
            pairs[one, other] = "opposing responses"
        for one, other in itertools.product([*good, *bad], commands):
            if one != other:
                pairs[one, other] = "response and command"
    numbers = [*DIGITS, "niner", "oh", "hundred", "thousand", "decimal", "point", "forty"]
    numbers += ["fourteen", "thirty", "thirteen", "fifty", "fifteen", "half"]
    for a, b in itertools.combinations(numbers, 2):
        if {a, b} != {"nine", "niner"}:
            pairs[(a,), (b,)] = "numbers"
    for (one, other), kind in pairs.items():
        was, now = (
            phrase_distance(one, other, partial(phones, pack), pack.phone_distance)
            * max(_shortest(one, partial(phones, pack)), _shortest(other, partial(phones, pack)))
            for pack in (before, after)
        )
        if now < was - 1e-9:
            yield f"{kind}: {' '.join(one)} / {' '.join(other)}: {was:.2f} -> {now:.2f} phones"


def _shortest(words: Sequence[str], phones: partial[tuple[Pronunciation, ...]]) -> int:
    return sum(min((len(way) for way in phones(word)), default=1) for word in words)


@cache
def _phones(word: str, own: tuple[Pronunciation, ...]) -> tuple[Pronunciation, ...]:
    return own or tuple(tuple(way.split()) for way in bundled_pronunciations(word))


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("what", choices=("radio", "checks", "pairs"))
    parser.add_argument(
        "--lexicon", type=Path, action="append", default=[], help="before: compared with as it is"
    )
    parser.add_argument("--words", nargs="*", default=(), help="only items that hear one of these")
    parser.add_argument("--score", action="store_true", help="the voices that serve no choice")
    parser.add_argument("--clean", action="store_true", help="without noise only")
    parser.add_argument("--misheard", action="store_true", help="tell all that was not right")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    options = parser.parse_args(arguments)
    lexicons: list[Path | None] = [*options.lexicon, None]
    if options.what == "pairs":
        for line in nearer_pairs(pack_of(lexicons[0]), pack_of(None)):
            print(line)
        return
    said = tuple(by_the_book() if options.what == "radio" else of_the_checks(options.words))
    voices = RADIO if options.what == "radio" else REGIONAL
    jobs = [
        Job(voice=voice, snr_db=snr_db, lexicon=lexicon, sayings=said)
        for lexicon in lexicons
        for voice in (SCORING if options.score else voices)
        for snr_db in (SNRS_DB[:1] if options.clean else SNRS_DB)
    ]
    # spawned, not forked: the engine's library holds threads and open models
    with ProcessPoolExecutor(options.workers, mp_context=get_context("spawn")) as pool:
        results = list(pool.map(hear_all, jobs))
    print(f"Synthetic speech, {options.what}; 95 % intervals.")
    print(*table(jobs, results), *differences(jobs, results), sep="\n")
    if options.misheard:
        print(*misheard(jobs, results), sep="\n")


if __name__ == "__main__":
    main()
