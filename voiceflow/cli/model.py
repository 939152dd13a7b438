"""``voiceflow model``: recognition models for Vosk."""

from pathlib import Path

import click

from voiceflow.errors import ModelNotFoundError
from voiceflow.languages.registry import known_languages, language

_BY_HAND = (
    "Without a network, copy an unpacked model folder from another machine and name it with "
    "--model DIR or the variable VOSK_MODEL_PATH."
)


@click.group("model")
def command() -> None:
    """Find or fetch a recognition model for Vosk.

    Vosk with a model hears better than PocketSphinx, which works without one.
    Nothing is ever fetched unless you ask for it here.

    \b
    Examples:
      voiceflow model where
      voiceflow model get en
    """


@command.command("where")
def where() -> None:
    """Show for each language which model would be used, or where one was looked for."""
    from voiceflow.recognition.models import find_vosk_model

    for code in known_languages():
        try:
            click.echo(f"{code}: {find_vosk_model(language(code), None)}")
        except ModelNotFoundError as error:
            click.echo(f"{code}: none in {', '.join(error.where)}")
    click.echo(_BY_HAND)


@command.command("get")
@click.argument("lang")
def get(lang: str) -> None:
    """Fetch a model for LANG ("en") with Vosk's own downloader, into Vosk's own cache.

    This needs the network, once. A small model takes about 50 MB.
    """
    pack = language(lang)
    tag = pack.model_tags[0]
    click.echo(f"Fetching the Vosk model for {tag} ...", err=True)
    try:
        import vosk

        vosk.Model(lang=tag)
    except (Exception, SystemExit) as error:
        # the downloader leaves the program or lets any network error through
        reason = " ".join(str(error).split()) or "the downloader gave up"
        raise ModelNotFoundError(
            "vosk", (f"Vosk's own list of models ({reason})",), _BY_HAND
        ) from error
    from voiceflow.recognition.models import find_vosk_model

    folder: Path = find_vosk_model(pack, None)
    click.echo(folder)
