"""Make a set of Korean recordings and its manifest in a folder outside the repository.

It is for Vosk, whose only model that a package brings is Korean. Run it from the checkout
with the test extra installed, and espeak-ng on the machine::

    python audio_fixtures/make_korean.py FOLDER

Everything is synthetic speech by eSpeak NG, and robotic: what is right of it tells nothing
of people. Of 30 of its variants at 130 words a minute the Korean model understood 1 to 8
phrases of 35; faster it does better. The variants and rates here are the better ones of 20
tried at 165, 190 and 220 words a minute (7 to 15 phrases of 31). Voices for training and
voices that score are not the same.

A value is chosen, then put into words by num2words or digit by digit; the item's grammar is
asked only whether it holds the phrase with that very meaning.
"""

import argparse
import csv
import hashlib
import random
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from pathlib import Path

from make_fixtures import (
    HEADER,
    HERE,
    Place,
    Recording,
    Spoken,
    Voice,
    holds,
    is_nothing,
    record,
    row,
    speak,
    values_of,
    write,
)
from num2words import num2words

from voiceflow.audio.frames import RATE_HZ
from voiceflow.checks.loader import load_check
from voiceflow.evaluation.manifest import MAIN, Role
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.grammar.meaning import Command, NoMatch, Reading, Response, ResponseState
from voiceflow.languages.registry import language

CHECK = HERE.parent / "tests" / "data" / "korean-check.yaml"
SEED = 42
#: eSpeak NG's variants of Korean, and how fast, words a minute.
TRAINING = {
    "ko+f2": 190,
    "ko+f5": 190,
    "ko+adam": 205,
    "ko+f1": 220,
    "ko+m7": 190,
    "ko+klatt4": 190,
    "ko+pablo": 220,
    "ko+f4": 205,
}
SCORE = {"ko+f3": 165, "ko+Annie": 190, "ko+victor": 190, "ko+m3": 220}
#: How many of each kind a voice says; where there are fewer, all.
READINGS, RESPONSES, COMMANDS, SENTENCES, OTHERS = 26, 14, 16, 16, 20

_DIGITS = "영일이삼사오육칠팔구"

#: Said in a cockpit and answering nothing; those for training and those that score.
TALK = {
    Role.TRAIN: (
        "오늘 날씨가 좋네요",
        "커피 한 잔 주세요",
        "승객이 몇 명인지 알려 달래요",
        "연료차가 또 늦네요",
        "그 가방은 뒤에 두세요",
        "어제 누가 이 비행기를 탔어요",
        "관제탑에서 주파수를 바꿨어요",
        "서류 가지고 금방 올게요",
        "이 의자를 누가 옮겼네",
        "지상 직원이 손을 흔들어요",
        "격납고 문이 열린 것 같아요",
        "밤새 비가 왔습니다",
        "내 시계가 멈췄어",
        "사무실에 전화해야 해요",
        "손전등 좀 건네줘",
        "저 소리는 전원 차에서 나요",
        "점심은 뭐 먹을까",
        "활주로가 아직 젖어 있어요",
    ),
    Role.SCORE: (
        "바람이 좀 세졌네요",
        "물 좀 주시겠어요",
        "짐을 다 실었대요",
        "출발이 십 분 늦어질 것 같아요",
        "이 줄이 너무 짧아",
        "문 옆에 상자가 하나 있어요",
        "책에서 찾아볼게요",
        "누가 문을 두드려요",
        "해안 쪽 날씨 봤어요",
        "다음 주에 휴가 갑니다",
        "저기 새가 앉아 있네",
        "언제 출발합니까",
        "안경을 어디 뒀더라",
        "버스가 방금 왔어요",
        "오른쪽 창문이 더러워요",
        "기름 냄새가 나는데",
        "정비사가 곧 온대요",
        "아이가 울고 있어요",
    ),
}


def places() -> tuple[Place, ...]:
    """Give every item of the Korean check with its grammar."""
    check = load_check(CHECK)
    pack = language(check.language)
    return tuple(
        Place(check=check, item=item, grammar=compile_item(item, pack), pack=pack)
        for item in check.items
    )


def spoken_for(role: Role, voice: str, found: Sequence[Place]) -> list[Spoken]:
    """Say what a voice says, in a fixed random order."""
    dice = random.Random(f"{SEED} {voice}")
    made = [
        *_some(list(readings(found, dice)), READINGS, dice),
        *_some(list(responses(found)), RESPONSES, dice),
        *_some(list(commands(found, dice)), COMMANDS, dice),
        *_some(list(sentences(role, found, dice)), SENTENCES, dice),
        *_some(list(others_answers(found, dice)), OTHERS, dice),
    ]
    dice.shuffle(made)
    return made


def readings(found: Sequence[Place], dice: random.Random) -> Iterator[Spoken]:
    """Values of every gauge, by name and digit by digit, some with name or unit."""
    for place in found:
        spec = place.item.reading
        if spec is None:
            continue
        units = ["", "", *place.pack.unit_words.get(spec.unit, ())[:1]]
        names = ["", "", *spec.names]
        for number, value in enumerate(values_of(spec, dice)[: 2 * READINGS]):
            form, text = list(forms(value, spec.scale.places))[number % 2]
            whole = f"{dice.choice(names)} {text} {dice.choice(units)}"
            meaning = Reading(value=value, unit=spec.unit)
            spoken = _spoken(place, " ".join(whole.split()), meaning, form)
            if holds(place, spoken):
                yield spoken


def forms(value: Decimal, places: int) -> Iterator[tuple[str, str]]:
    """Ways to say a value, with the form's name."""
    whole, _, decimals = f"{value:.{places}f}".partition(".")
    tail = "".join(f" {_DIGITS[int(figure)]}" for figure in decimals)
    mark = f" 점{tail}" if decimals else ""
    yield "natural", num2words(int(whole), lang="ko").replace(" ", "") + mark
    yield "digits", " ".join(_DIGITS[int(figure)] for figure in whole) + mark


def responses(found: Sequence[Place]) -> Iterator[Spoken]:
    """Every response, alone and after the challenge."""
    for place in found:
        for state, texts in (
            (ResponseState.AS_EXPECTED, place.item.expect),
            (ResponseState.NOT_AS_EXPECTED, place.item.not_as_expected),
        ):
            for text in texts:
                meaning = Response(phrase=text, state=state)
                for whole in (text, f"{place.item.challenge} {text}"):
                    spoken = _spoken(place, whole, meaning, "response")
                    if holds(place, spoken):
                        yield spoken


def commands(found: Sequence[Place], dice: random.Random) -> Iterator[Spoken]:
    """Every command in every phrase, each at some item."""
    for name, phrases in found[0].pack.commands.items():
        for text in phrases:
            place = dice.choice(found)
            spoken = _spoken(place, text, Command(name=name), name.value)
            if place.grammar.meaning(place.pack.tokenise(text)) == spoken.meaning:
                yield spoken


def sentences(role: Role, found: Sequence[Place], dice: random.Random) -> Iterator[Spoken]:
    """Talk that answers nothing."""
    for text in TALK[role]:
        place = dice.choice(found)
        if is_nothing(place, place.pack.tokenise(text)):
            yield _spoken(place, text, NoMatch(), "sentence")


def others_answers(found: Sequence[Place], dice: random.Random) -> Iterator[Spoken]:
    """Answers and challenges of other items, where they answer nothing."""
    texts = [
        text
        for place in found
        for text in (
            *place.item.expect,
            *place.item.not_as_expected,
            place.item.challenge,
            *(place.item.reading.names if place.item.reading else ()),
        )
    ]
    texts += [spoken.text for spoken in readings(found, dice)][:20]
    for text in texts:
        for place in dice.sample(list(found), len(found)):
            if is_nothing(place, place.pack.tokenise(text)):
                yield _spoken(place, text, NoMatch(), "other item")
                break


def _spoken(
    place: Place, text: str, meaning: Reading | Response | Command | NoMatch, form: str
) -> Spoken:
    return Spoken(check=str(CHECK), item=place.item.id, text=text, meaning=meaning, form=form)


def _some(list_of: list[Spoken], count: int, dice: random.Random) -> list[Spoken]:
    return list_of if len(list_of) <= count else dice.sample(list_of, count)


def plan() -> list[tuple[Recording, int]]:
    """Say which files there are to be, and how fast each is spoken, words a minute."""
    found = places()
    made: list[tuple[Recording, int]] = []
    for role, voices in ((Role.TRAIN, TRAINING), (Role.SCORE, SCORE)):
        for name, rate_wpm in voices.items():
            for number, spoken in enumerate(spoken_for(role, name, found), start=1):
                file = f"{name.replace('+', '-')}/{number:03d}-{spoken.item}.flac"
                seed = int.from_bytes(hashlib.sha256(file.encode()).digest()[:4], "big")
                recording = Recording(
                    file=file,
                    spoken=spoken,
                    voice=Voice(program="espeak-ng", name=name),
                    part=MAIN,
                    seed=seed,
                    role=role,
                )
                made.append((recording, rate_wpm))
    return made


def make(folder: Path, planned: Sequence[tuple[Recording, int]]) -> list[dict[str, str]]:
    """Make the files; give the manifest's rows in order."""

    def one(both: tuple[Recording, int]) -> dict[str, str]:
        recording, rate_wpm = both
        speech = speak(recording.voice, recording.spoken.text, rate_wpm)
        digest = write(folder / recording.file, record(speech, recording.seed))
        return row(recording, len(speech) / RATE_HZ, digest)

    with ThreadPoolExecutor(max_workers=2) as pool:
        return list(pool.map(one, planned))


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("folder", type=Path, help="where the set goes, made if it is not there")
    options = parser.parse_args(arguments)
    rows = make(options.folder, plan())
    with (options.folder / "manifest.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, HEADER, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    print(f"{len(rows)} recordings in {options.folder}")


if __name__ == "__main__":
    main()
