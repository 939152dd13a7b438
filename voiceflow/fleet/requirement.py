"""What the store needs and a plain installation does not have; nothing of it is imported here."""

from importlib import import_module

from voiceflow.errors import UsageError


def require() -> None:
    """See that a store can be reached at all.

    Raises:
        UsageError: If SQLAlchemy or psycopg is not installed.
    """
    for name, library in (("SQLAlchemy", "sqlalchemy"), ("psycopg", "psycopg")):
        try:
            import_module(library)
        except ImportError:
            what = f"the fleet's store needs {name}, which is not installed"
            remedy = "Install it with: pip install 'voiceflow[fleet]'"
            raise UsageError(what, remedy) from None
