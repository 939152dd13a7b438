"""How far to trust what a finite-state decoder heard.

A decoder with a grammar forces any sound into a phrase of it. What gives it away is
how the sound fits the phrase compared with the best that the acoustic model could
have made of the same sound, frame by frame, without any grammar: right answers come
close to that, other speech does not. The worst word counts beside the mean, because
other speech often fits in part.

A wrong number spoken clearly ("forty" for "fourteen") fits as well as the right one:
no confidence catches it, only the readback does.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from voiceflow.settings import RejectionSettings


@dataclass(frozen=True, slots=True, kw_only=True)
class WordFit:
    """How one word fits its sound.

    Attributes:
        loss: Mean over the frames of the word of how far the path lies below the best
            of the acoustic model, in natural log units of the decoder, not negative.
        frames: How many frames of 10 ms it lasts.
    """

    loss: float
    frames: int


def confidence(words: Sequence[WordFit], settings: RejectionSettings) -> float:
    """Give 0 to 1: how likely it is that these words were said at all.

    Args:
        words: Every word of the phrase, pauses left out.
        settings: Coefficients of the logistic function, and where they are from.

    Returns:
        0 for no words.
    """
    frames = sum(word.frames for word in words)
    if frames == 0:
        return 0.0
    mean = sum(word.loss * word.frames for word in words) / frames
    worst = max(word.loss for word in words)
    evidence = (
        settings.offset + settings.mean_loss * mean * 1000 + settings.worst_loss * worst * 1000
    )
    return 1.0 / (1.0 + math.exp(-max(-50.0, min(50.0, evidence))))
