r"""One contact of a transmitter: when it closes and opens, how it bounces, where it drops out.

Picture (closed = high; B = bounce, from the first make to the last):

                first make     last make             opens
                    |             |                    |
    closed           ___   __   _  ___________   _______
    open   _________|   |_|  |_| ||           |_|       |______
                    <--- B ------->           dropout

The gaps of a bounce get shorter; the instant a contact is said to close at is its first make.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.practice.line_signal import NOTHING, FloatArray, without

#: each gap of a bounce, and each contact between gaps, is this much of the one before
DECAY = 0.6
#: a bounce lasts at most this much of the time the contact is closed
MOST_OF_CLOSED = 0.8


@dataclass(frozen=True, slots=True)
class Contact:
    """What one contact does.

    Attributes:
        closing_late_s: closes this much late (early negative).
        opening_late_s: opens this much late.
        closing_scatter_s: standard deviation of the closing instants, besides the transmitter's own.
        opening_scatter_s: the same for the opening instants.
        bounce_s: mean time from first to last make; single bounces scatter around it by a quarter.
        bounces: how often it opens again in a bounce.
        dropouts_per_s: how often it fails for a moment, for each second it is closed.
        dropout_s: mean length of such a failure.
    """

    closing_late_s: float = 0.0
    opening_late_s: float = 0.0
    closing_scatter_s: float = 0.0
    opening_scatter_s: float = 0.0
    bounce_s: float = 0.0
    bounces: int = 3
    dropouts_per_s: float = 0.0
    dropout_s: float = 0.5e-3


#: a contact without any fault
SOUND = Contact()


def closed_spans(
    contact: Contact, made: FloatArray, strikes: FloatArray, generator: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Return the stretches in which a contact really is closed, and the bounce at each make.

    Args:
        contact: its properties; lateness and scatter are already in `made`.
        made: shape (n, 2), first make and last break.
        strikes: shape (n,), 1.0 where the contact strikes and so may bounce, 0.0 where it was closed already.
        generator: source of chance.

    Returns:
        the stretches, shape (m, 2), and the time from first to last make, shape (n,), seconds.
    """
    bounce = _bounce_lengths(contact, made, generator) * strikes
    gaps = np.concatenate([_bounce_gaps(contact, made, bounce, generator), _dropouts(contact, made, generator)])
    return without(made, gaps), bounce


def _bounce_lengths(contact: Contact, made: FloatArray, generator: np.random.Generator) -> FloatArray:
    if not contact.bounce_s or not contact.bounces:
        return np.zeros(len(made))
    wanted = contact.bounce_s * np.clip(generator.normal(1.0, 0.25, len(made)), 0.25, 1.75)
    return np.minimum(wanted, MOST_OF_CLOSED * np.maximum(made[:, 1] - made[:, 0], 0.0))


def _bounce_gaps(
    contact: Contact, made: FloatArray, bounce: FloatArray, generator: np.random.Generator
) -> FloatArray:
    """Divide each bounce in closed, open, closed, open ... of shrinking random lengths that end with its end."""
    if not bounce.any():
        return NOTHING
    shape = (len(made), contact.bounces, 2)
    parts = generator.uniform(0.5, 1.0, shape) * DECAY ** np.arange(contact.bounces)[None, :, None]
    ends = np.cumsum(parts.reshape(len(made), -1), axis=1)
    ends *= (bounce / ends[:, -1])[:, None]
    return np.asarray((made[:, :1] + ends).reshape(-1, 2))


def _dropouts(contact: Contact, made: FloatArray, generator: np.random.Generator) -> FloatArray:
    if not contact.dropouts_per_s:
        return NOTHING
    closed = np.maximum(made[:, 1] - made[:, 0], 0.0)
    which = np.repeat(np.arange(len(made)), generator.poisson(contact.dropouts_per_s * closed))
    begin = made[which, 0] + closed[which] * generator.uniform(0.0, 1.0, which.size)
    return np.column_stack([begin, begin + generator.exponential(contact.dropout_s, which.size)])
