"""The normal distribution: the share below a number of standard deviations, and the number below which a share lies.

Numbers only. Written here because the library that has it takes a sixth of a second to import, a quarter of what one
diagnosis may take from the shell; that library judges it in the tests.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["deviate", "share_below"]

# Coefficients of W. J. Cody, Rational Chebyshev approximations for the error function, Math. Comp. 23 (1969), 631-637.
_NEAR = (
    (1.85777706184603153e-1, 3.16112374387056560, 1.13864154151050156e2, 3.77485237685302021e2, 3.20937758913846947e3),
    (1.0, 2.36012909523441209e1, 2.44024637934444173e2, 1.28261652607737228e3, 2.84423683343917062e3),
)
_MIDDLE = (
    (2.15311535474403846e-8, 5.64188496988670089e-1, 8.88314979438837594, 6.61191906371416295e1, 2.98635138197400131e2,
     8.81952221241769090e2, 1.71204761263407058e3, 2.05107837782607147e3, 1.23033935479799725e3),
    (1.0, 1.57449261107098347e1, 1.17693950891312499e2, 5.37181101862009858e2, 1.62138957456669019e3,
     3.29079923573345963e3, 4.36261909014324716e3, 3.43936767414372164e3, 1.23033935480374942e3),
)  # fmt: skip
_FAR = (
    (1.63153871373020978e-2, 3.05326634961232344e-1, 3.60344899949804439e-1, 1.25781726111229246e-1,
     1.60837851487422766e-2, 6.58749161529837803e-4),
    (1.0, 2.56852019228982242, 1.87295284992346725, 5.27905102951428412e-1, 6.05183413124413191e-2,
     2.33520497626869185e-3),
)  # fmt: skip
_FIRST, _SECOND, _LAST = 0.46875, 4.0, 26.5
# Coefficients of AS 241.
_INVERSE_MIDDLE = (
    (2.5090809287301226727e3, 3.3430575583588128105e4, 6.7265770927008700853e4, 4.5921953931549871457e4,
     1.3731693765509461125e4, 1.9715909503065514427e3, 1.3314166789178437745e2, 3.3871328727963666080),
    (5.2264952788528545610e3, 2.8729085735721942674e4, 3.9307895800092710610e4, 2.1213794301586595867e4,
     5.3941960214247511077e3, 6.8718700749205790830e2, 4.2313330701600911252e1, 1.0),
)  # fmt: skip
_INVERSE_OUTER = (
    (7.74545014278341407640e-4, 2.27238449892691845833e-2, 2.41780725177450611770e-1, 1.27045825245236838258,
     3.64784832476320460504, 5.76949722146069140550, 4.63033784615654529590, 1.42343711074968357734),
    (1.05075007164441684324e-9, 5.47593808499534494600e-4, 1.51986665636164571966e-2, 1.48103976427480074590e-1,
     6.89767334985100004550e-1, 1.67638483018380384940, 2.05319162663775882187, 1.0),
)  # fmt: skip
_CENTRAL = 0.425
_PER_ROOT_PI = 0.56418958354775628695


def share_below(x: NDArray[Any] | float) -> NDArray[np.float64]:
    """The share (any shape) of a standard normal distribution below x; relative error under 1e-13 for x > -37.

    >>> share_below(np.array([-np.inf, 0.0, 1.96])).round(4).tolist()
    [0.0, 0.5, 0.975]
    """
    z = np.asarray(x, float) * np.sqrt(0.5)
    size = np.abs(z)
    tail = np.zeros_like(z)
    near, far = size <= _FIRST, (size > _SECOND) & (size < _LAST)
    middle = (size > _FIRST) & (size <= _SECOND)
    tail[near] = 0.5 - 0.5 * size[near] * _ratio(_NEAR, size[near] ** 2)
    tail[middle] = 0.5 * _exp_minus_square(size[middle]) * _ratio(_MIDDLE, size[middle])
    inverse = 1 / size[far]
    correction = inverse**2 * _ratio(_FAR, inverse**2)
    tail[far] = 0.5 * _exp_minus_square(size[far]) * inverse * (_PER_ROOT_PI - correction)
    tail[np.isnan(z)] = np.nan
    return np.asarray(np.where(z > 0, 1.0 - tail, tail), np.float64)


def deviate(share: NDArray[Any] | float) -> NDArray[np.float64]:
    """The number of standard deviations (any shape) below which each share lies; shares within (1e-10, 1 - 1e-10).

    M. J. Wichura, Algorithm AS 241: The percentage points of the normal distribution, Applied Statistics 37 (1988),
    477-484.

    >>> deviate(np.array([0.5, 0.975])).round(3).tolist()
    [0.0, 1.96]
    """
    off = np.asarray(share, float) - 0.5
    middle = np.abs(off) <= _CENTRAL
    x = np.zeros_like(off)
    x[middle] = off[middle] * _ratio(_INVERSE_MIDDLE, _CENTRAL**2 - off[middle] ** 2)
    outer = np.sqrt(-np.log(0.5 - np.abs(off[~middle])))
    x[~middle] = np.sign(off[~middle]) * _ratio(_INVERSE_OUTER, outer - 1.6)
    return x


def _ratio(pair: tuple[tuple[float, ...], tuple[float, ...]], x: NDArray[Any]) -> NDArray[Any]:
    return np.asarray(_polynomial(pair[0], x) / _polynomial(pair[1], x))


def _polynomial(coefficients: tuple[float, ...], x: NDArray[Any]) -> NDArray[Any]:
    total = np.full_like(x, coefficients[0])
    for coefficient in coefficients[1:]:
        total = total * x + coefficient
    return total


def _exp_minus_square(x: NDArray[Any]) -> NDArray[Any]:
    """exp(-x^2) to the last digits: x in sixteenths squares without loss."""
    rough = np.trunc(x * 16) / 16
    return np.asarray(np.exp(-(rough**2)) * np.exp(-(x - rough) * (x + rough)))
