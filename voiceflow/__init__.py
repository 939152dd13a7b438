"""Voiceflow: a voice-driven, hands-free companion for cockpit checks.

Practice and memory aid. Not certified equipment: the operator's approved
documents, the flight manual and local rules prevail.
"""

__version__ = "0.1.0"

__all__ = ["__version__"]
