r"""AC coupling: what a capacitor in the way does to the two levels, as a model that can be run forwards.

Picture: a mark of the line, and what a sound card makes of it

    line      ________/~~~~~~~~~~~~~~~\____________
                      .                .
    recorded  ........|\               .    ........ decays to nothing in idle
                      |  `--._         .   _.--'
                      |        `-.___  .  /
                                     | ` /
                                     |  /    the step down is as high as the step up

A capacitor and a resistor are a high-pass of first order; two of them in a row, or a filter inside the card, one of
second order. With the poles p and the weights c of its step response, everything after a step of height A is

    y(t) = A sum c exp(p t)          first order: p = -2 pi f, c = 1
                                     second order s^2 / (s^2 + a s + b): p its roots, c = p1/(p1-p2), p2/(p2-p1)

(partial fractions of H(s)/s). Steps add up, so the past of the line up to now is one number for each pole.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]


@dataclass(frozen=True, slots=True, eq=False)
class Coupling:
    """A high-pass by its poles.

    Attributes:
        poles_per_s: shape (m,), real part not above zero.
        weights: shape (m,), of the step response; their sum is 1.
    """

    poles_per_s: ComplexArray
    weights: ComplexArray

    @property
    def order(self) -> int:
        """0 for none, 1 or 2."""
        return 0 if self.poles_per_s.size == 1 and self.poles_per_s[0] == 0 else self.poles_per_s.size

    @property
    def corner_hz(self) -> float:
        """Frequency of the (geometric mean) pole."""
        return float(np.exp(np.log(np.abs(self.poles_per_s)).mean()) / (2 * np.pi)) if self.order else 0.0

    def droop(self, after_s: float) -> float:
        """Return the part of a step that is lost after a time."""
        return 1.0 - float((self.weights * np.exp(self.poles_per_s * after_s)).sum().real)


def no_coupling() -> Coupling:
    """DC: a step stays."""
    return Coupling(np.zeros(1, complex), np.ones(1, complex))


def first_order(corner_hz: float) -> Coupling:
    """One capacitor and one resistor."""
    return Coupling(np.array([-2 * np.pi * corner_hz + 0j]), np.ones(1, complex))


def second_order(corner_hz: float, damping: float) -> Coupling:
    """Two of them, or a filter: s^2 / (s^2 + 2 damping w s + w^2), w = 2 pi corner."""
    if abs(damping - 1.0) < 1e-4:
        damping = 1.0001  # two equal poles have no partial fractions of this form
    w = 2 * np.pi * corner_hz
    root = np.sqrt(complex(damping**2 - 1))
    p1, p2 = w * (-damping + root), w * (-damping - root)
    return Coupling(np.array([p1, p2]), np.array([p1 / (p1 - p2), p2 / (p2 - p1)]))


def response(
    coupling: Coupling, steps_at: FloatArray, heights: FloatArray, at: FloatArray, rate_hz: float
) -> FloatArray:
    """Return what steps become after the coupling.

    Args:
        coupling: the high-pass.
        steps_at: shape (n,), in samples, increasing.
        heights: shape (n,), up positive.
        at: shape (k,), sample numbers, increasing, at which the response is wanted.
        rate_hz: samples per second.
    """
    poles = coupling.poles_per_s / rate_hz
    states = np.zeros((steps_at.size + 1, poles.size), complex)
    decay = np.exp(poles * np.diff(steps_at, prepend=steps_at[:1])[:, None])
    for k in range(steps_at.size):
        states[k + 1] = states[k] * decay[k] + heights[k] * coupling.weights
    which = np.searchsorted(steps_at, at, side="right")
    since = at - np.concatenate([[0.0], steps_at])[which]
    out = np.zeros(at.size)
    for m in range(poles.size):
        out += (states[which, m] * np.exp(poles[m] * since)).real
    return out
