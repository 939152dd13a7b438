"""``voiceflow resume``: go on with a run that was interrupted."""

from dataclasses import replace
from pathlib import Path

import click

from voiceflow.cli import options
from voiceflow.cli.demo import DEMO_FOLDER, DEMO_JOURNAL, write_demo_reports
from voiceflow.cli.exit_status import status_of
from voiceflow.cli.run import length_s
from voiceflow.cli.running import (
    carry_through,
    journal_option,
    keyboard,
    keyboard_beside,
    open_journal,
    talk_key,
    watching,
)
from voiceflow.cli.transcript import closing_lines
from voiceflow.cli.wishes import with_pauses
from voiceflow.errors import JournalError, UsageError
from voiceflow.journal.header import MICROPHONE, TYPED, RunHeader
from voiceflow.journal.place import default_journal
from voiceflow.journal.replay import replay
from voiceflow.journal.store import Journal, RunSummary
from voiceflow.recognition.recogniser import NO_PROFILE
from voiceflow.session.assembly import SILENT, SPEAKERS, Session, Ways
from voiceflow.session.engines import VOSK
from voiceflow.session.resumption import Past, rebuild


@click.command("resume")
@click.argument("run", required=False)
@options.together(options.audio, options.typed)
@options.together(options.microphone, options.listening, options.push_to_talk)
@options.together(options.engine, options.model, options.profile, options.pauses)
@options.together(options.voice, options.speakers)
@options.together(options.journal, options.as_json)
@click.pass_context
def command(
    ctx: click.Context,
    run: str | None,
    audio: Path | None,
    typed: bool,
    microphone: str | None,
    listening: str,
    push_to_talk: bool,
    engine: str,
    model: Path | None,
    profile: str | None,
    pauses: str | None,
    voice: str | None,
    speakers: str | None,
    journal_path: Path | None,
    as_json: bool,
) -> int:
    """Go on with the last check that was not finished, at the very item.

    RUN is the name of a run (see voiceflow journal); without it the last unfinished
    one is taken. You are heard as before the interruption unless you say otherwise, and
    with the care that the run began with.
    A recording goes on where it was left; another one is heard from its start. A
    speaker's profile is used as before; --profile none goes on without. Whatever was confirmed before the
    interruption is kept, however the program ended.

    \b
    Examples:
      voiceflow resume
      voiceflow resume 20261125-093012-7f3a --typed
      voiceflow resume --microphone default
    """
    if sum((audio is not None, typed, microphone is not None)) > 1:
        raise UsageError(
            "--audio, --typed and --microphone exclude each other", "Give one of them."
        )
    with (
        open_journal(journal_path or _journal_to_resume(run), create=False) as journal,
        talk_key(push_to_talk) as key,
    ):
        found = _choose(journal, run)
        header = journal.header(found.run_id)
        events = journal.events(found.run_id)
        past = rebuild(header, events)
        if past.state.ending is not None and not past.state.saying:
            return _already_ended(journal, header, as_json=as_json)
        ways = _ways(
            header,
            past,
            audio=audio,
            typed=typed,
            microphone=microphone,
            # the key of push-to-talk reads the terminal
            may_type=not push_to_talk,
            engine=_given(ctx, "engine", engine),
            model=model,
            profile=profile,
            voice=options.voice_of(voice, speakers),
            prompt=not as_json,
        )
        if pauses is not None and ways.recording is not None:
            # resumed once more, a recording is heard again: with the pauses of the journal
            what = "a recording is heard with the pauses that its run was begun with"
            raise UsageError(what, "Leave --pauses out, or go on with --microphone default.")
        header = replace(header, settings=with_pauses(header.settings, pauses))
        if key is not None and not ways.is_live:
            what = "--push-to-talk is for a microphone, and this run goes on without one"
            raise UsageError(what, "Leave it out, or add --microphone default.")
        ways = replace(
            ways,
            speakers=speakers,
            talk_key=key,
            hears_itself=_hears_itself(header, ways, _given(ctx, "listening", listening)),
        )
        is_typed = ways.lines is not None
        total_s = length_s(ways.recording)
        with watching(as_json=as_json, typed=is_typed, total_s=total_s) as watcher:
            session = Session(journal, header.check, ways, watcher, header.settings)
            result, status = carry_through(
                lambda: session.resume(header, events),
                watcher=watcher,
                journal=journal,
                as_json=as_json,
            )
        if result is not None and result.state.ending is not None and _is_demo(journal):
            write_demo_reports(journal, result.run_id, quiet=as_json)
    return status


def _hears_itself(header: RunHeader, ways: Ways, listening: str | None) -> bool:
    """Tell whether the microphone hears the tool: as when the run began, unless it is said."""
    if listening is None:
        return ways.is_live and header.hears_itself
    return options.hears_itself(listening, is_live=ways.is_live)


def _given(ctx: click.Context, name: str, value: str) -> str | None:
    source = ctx.get_parameter_source(name)
    return None if source is click.core.ParameterSource.DEFAULT else value


def _journal_to_resume(run: str | None) -> Path | None:
    """Give the demo's journal here if its run is the one to go on with, else none."""
    demo = DEMO_JOURNAL.absolute()
    if not demo.is_file():
        return None
    usual = default_journal()
    with Journal.open_to_read(demo) as journal:
        if run is not None:
            return demo if any(one.run_id == run for one in journal.runs()) else None
        there = _latest(journal)
    if there is None or not usual.is_file():
        return demo
    with Journal.open_to_read(usual) as journal:
        here = _latest(journal)
    if here is None:
        return demo
    # run names sort by time; an unfinished run comes before a finished one
    return demo if (not there.finished, there.run_id) > (not here.finished, here.run_id) else None


def _latest(journal: Journal) -> RunSummary | None:
    return journal.last_unfinished() or next(reversed(journal.runs()), None)


def _choose(journal: Journal, run: str | None) -> RunSummary:
    if run is not None:
        return journal.find(run)
    found = _latest(journal)
    if found is None:
        raise JournalError(journal.path, "there is no run in it", "Begin one: voiceflow run CHECK")
    return found


def _already_ended(journal: Journal, header: RunHeader, *, as_json: bool) -> int:
    state = replay(header, journal.events(header.run_id))
    if not as_json:
        click.echo(f"Run {header.run_id} has already ended; nothing is left to go on with.")
        for line in closing_lines(state):
            click.echo(line)
        click.echo(f"Report: voiceflow report {header.run_id}{journal_option(journal)}", err=True)
        if _is_demo(journal):
            write_demo_reports(journal, header.run_id, quiet=False)
    return status_of(state)


def _is_demo(journal: Journal) -> bool:
    return journal.path.parent == DEMO_FOLDER.absolute() and journal.path.name == DEMO_JOURNAL.name


def _ways(
    header: RunHeader,
    past: Past,
    *,
    audio: Path | None,
    typed: bool,
    microphone: str | None,
    may_type: bool,
    engine: str | None,
    model: Path | None,
    profile: str | None,
    voice: str | None,
    prompt: bool,
) -> Ways:
    """Hear and speak as before, but for what the command line says."""
    recording = audio
    as_before = audio is None and not typed and microphone is None
    if as_before:
        typed = past.source == TYPED
        recording = None if past.source in (TYPED, MICROPHONE) else Path(past.source)
        if recording is not None and past.input_ended:
            raise UsageError(
                f"run {header.run_id} has heard {recording} to its end",
                "Go on with --microphone default, with --typed, or with another recording: --audio WAV.",
            )
    if voice is None:
        usual = SILENT if typed or recording else SPEAKERS
        is_same = typed or (as_before and past.source == header.source)
        voice = header.voice if header.voice is not None and is_same else usual
    if profile is None and not typed and model is None and engine != VOSK:
        profile = _profile_as_before(header, past)
    if model is None and header.model is not None and engine in (None, VOSK):
        model = Path(header.model)
    return Ways(
        recording=recording,
        lines=keyboard(prompt=prompt) if typed else None,
        beside=keyboard_beside() if may_type and not typed and recording is None else None,
        engine=engine or ("auto" if header.engine == TYPED else header.engine),
        model=model,
        profile=profile,
        voice=voice,
        microphone=microphone,
    )


def _profile_as_before(header: RunHeader, past: Past) -> str | None:
    """Give the name of the profile that listened last, if it still is what it was.

    Raises:
        UsageError: If it is gone, cannot be used, or has changed.
    """
    used = past.profile
    if used is None:
        return None
    # lazy: a run without a profile needs no recogniser to be told so
    from voiceflow.recognition.engines.pocketsphinx import bundled_digest
    from voiceflow.recognition.profile import find_profile

    what = f"run {header.run_id} was heard with the profile {used.name}"
    without = f"Give --profile NAME for another one, or --profile {NO_PROFILE} to go on without."
    try:
        found = find_profile(used.name, bundled_digest())
    except UsageError as error:
        raise UsageError(f"{what}, and that cannot be used now: {error.what}", without) from error
    if found.digest != used.digest:
        remedy = f"Give --profile {used.name} to take it as it is now. {without}"
        raise UsageError(f"{what}, which has changed since", remedy)
    return used.name
