"""How much oxygen a cylinder holds, how long it lasts, and the least pressure that will do.

Pressures are gauge readings in psi, at the temperature of the cylinder; contents are litres
of free gas at STPD (0 C, 760 mmHg, dry: 14 CFR 23.1443(e)), as oxygen flows are given.

Oxygen is not ideal at these pressures: a cylinder that is cooled from 20 to -30 C falls from
1,600 psi to 1,325 by the ideal gas, to 1,239 here, and to 1,250 in a published chart. The
compressibility factor is that of Peng and Robinson (Ind. Eng. Chem. Fundam. 15 (1976), 59-64;
from memory), which lies 0.4 to 2.5 % below CoolProp's reference equation from -40 to 70 C up
to 2,200 psi; ratios of contents agree to 1.6 % over that whole range (tests/limits).
"""

import math
from dataclasses import dataclass
from typing import Final

from voiceflow.checks.model import OxygenSupply

_GAS: Final = 8.314462618  # J/(mol K), exact in the SI of 2019
#: Oxygen: critical temperature (K), critical pressure (Pa), acentric factor (from memory;
#: the tests hold the result against CoolProp).
_CRITICAL_K: Final = 154.581
_CRITICAL_PA: Final = 5.043e6
_ACENTRIC: Final = 0.0222
_PA_A_PSI: Final = 6894.757293168
_SEA_LEVEL_PA: Final = 101_325.0
_ZERO_C_K: Final = 273.15
_LITRES: Final = 1000.0
_HIGHEST_PSI: Final = 5000.0
#: The formula counts up to 2.5 % more than there is, which is the wrong side for a crew: so
#: much more is asked for than is used.
_MARGIN: Final = 1.03


def compressibility(pressure_pa: float, temperature_k: float) -> float:
    """Give the compressibility factor of oxygen gas by Peng and Robinson.

    Args:
        pressure_pa: Absolute, above 0.
        temperature_k: Above the critical temperature, 154.6 K: below, it may be a liquid.

    Raises:
        ValueError: If it is colder or there is no pressure.
    """
    if temperature_k <= _CRITICAL_K or pressure_pa <= 0:
        msg = f"{pressure_pa:g} Pa at {temperature_k:g} K is no oxygen gas in a cylinder"
        raise ValueError(msg)
    slope = 0.37464 + 1.54226 * _ACENTRIC - 0.26992 * _ACENTRIC**2
    bend = (1 + slope * (1 - math.sqrt(temperature_k / _CRITICAL_K))) ** 2
    pull = 0.45724 * (_GAS * _CRITICAL_K) ** 2 / _CRITICAL_PA * bend
    size = 0.07780 * _GAS * _CRITICAL_K / _CRITICAL_PA
    a = pull * pressure_pa / (_GAS * temperature_k) ** 2
    b = size * pressure_pa / (_GAS * temperature_k)
    # above the critical temperature there is one root, and from 1 Newton's way leads there
    z = 1.0
    for _ in range(60):
        value = ((z - (1 - b)) * z + (a - 3 * b * b - 2 * b)) * z - (a * b - b * b - b**3)
        steep = (3 * z - 2 * (1 - b)) * z + (a - 3 * b * b - 2 * b)
        step = value / steep
        z -= step
        if abs(step) < 1e-12:
            break
    return z


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """An oxygen cylinder.

    Attributes:
        volume_l: What it holds of water, litres.
        full_psi: Gauge pressure when full, psi.
        full_at_c: ... at this temperature, degrees Celsius. Cylinders are usually rated at
            70 F (FAA AC 43.13-1B CHG 1, 9-50).
        empty_psi: What must stay in it, or cannot be used: gauge pressure, psi.
    """

    volume_l: float
    full_psi: float
    full_at_c: float = 21.1
    empty_psi: float = 0.0


def content_l(cylinder: Cylinder, gauge_psi: float, temperature_c: float) -> float:
    """Give what is in a cylinder, litres STPD.

    Args:
        cylinder: The cylinder.
        gauge_psi: What its gauge shows; 0 leaves the air's own pressure in it.
        temperature_c: Of the cylinder, degrees Celsius.

    Raises:
        ValueError: If the gauge shows less than nothing.
    """
    if gauge_psi < 0:
        msg = f"a gauge of oxygen does not show {gauge_psi:g} psi"
        raise ValueError(msg)
    pressure_pa = gauge_psi * _PA_A_PSI + _SEA_LEVEL_PA
    temperature_k = temperature_c + _ZERO_C_K
    volume_m3 = cylinder.volume_l / _LITRES
    factor = compressibility(pressure_pa, temperature_k)
    moles = pressure_pa * volume_m3 / (factor * _GAS * temperature_k)
    # one mole of what is breathed takes the volume of an ideal gas: at one atmosphere
    # oxygen is ideal to 0.1 %
    return moles * _GAS * _ZERO_C_K / _SEA_LEVEL_PA * _LITRES


def pressure_psi(cylinder: Cylinder, litres: float, temperature_c: float) -> float:
    """Give what the gauge shows for a content: the other way round.

    Args:
        cylinder: The cylinder.
        litres: What is in it, litres STPD.
        temperature_c: Of the cylinder, degrees Celsius.

    Raises:
        ValueError: If so much does not go in at 5,000 psi, or the gauge would show less
            than nothing.
    """
    low, high = 0.0, _HIGHEST_PSI
    least, most = (content_l(cylinder, end, temperature_c) for end in (low, high))
    if not least <= litres <= most:
        msg = f"{litres:g} litres are not what a cylinder of {cylinder.volume_l:g} litres holds"
        raise ValueError(msg)
    for _ in range(60):
        middle = (low + high) / 2
        if content_l(cylinder, middle, temperature_c) < litres:
            low = middle
        else:
            high = middle
    return high


def usable_l(cylinder: Cylinder, gauge_psi: float, temperature_c: float) -> float:
    """Give what can be used of a cylinder, litres STPD; 0 below ``empty_psi``.

    Three percent less than worked out, so that it is never more than there is.
    """
    if gauge_psi <= cylinder.empty_psi:
        return 0.0
    rest = content_l(cylinder, cylinder.empty_psi, temperature_c)
    return (content_l(cylinder, gauge_psi, temperature_c) - rest) / _MARGIN


def duration_min(litres: float, flow_l_min: float) -> float:
    """Give how long a content lasts, minutes.

    Args:
        litres: Usable, litres STPD.
        flow_l_min: Of all who breathe of it together, litres STPD a minute.

    Raises:
        ValueError: If nothing flows.
    """
    if flow_l_min <= 0:
        msg = f"a flow of {flow_l_min:g} litres a minute empties nothing"
        raise ValueError(msg)
    return litres / flow_l_min


def required_l(crew: int, minutes: float, flow_l_min: float) -> float:
    """Give what a crew needs, litres STPD.

    Args:
        crew: How many breathe of the cylinder.
        minutes: How long. Two hours for each is the figure of 14 CFR 121.331(b): 10 minutes
            down to 10,000 ft and 110 minutes there.
        flow_l_min: Of each, litres STPD a minute, as the operator has it for its masks.
    """
    return crew * minutes * flow_l_min


def minimum_psi(cylinder: Cylinder, litres: float, temperature_c: float) -> float:
    """Give the least gauge pressure at which so much can be used, as ``usable_l`` counts.

    Args:
        cylinder: The cylinder.
        litres: Wanted, litres STPD.
        temperature_c: Of the cylinder, degrees Celsius.

    Raises:
        ValueError: If even 5,000 psi would not do.
    """
    rest = content_l(cylinder, cylinder.empty_psi, temperature_c)
    return pressure_psi(cylinder, rest + litres * _MARGIN, temperature_c)


def lasting_min(
    cylinder: Cylinder, gauge_psi: float, temperature_c: float, crew: int, flow_l_min: float
) -> float:
    """Give how long a reading lasts a crew, minutes.

    Args:
        cylinder: The cylinder.
        gauge_psi: What its gauge shows.
        temperature_c: Of the cylinder, degrees Celsius.
        crew: How many breathe of it.
        flow_l_min: Of each, litres STPD a minute.

    Raises:
        ValueError: If nothing flows, or the gauge shows less than nothing.
    """
    return duration_min(usable_l(cylinder, gauge_psi, temperature_c), crew * flow_l_min)


def lasting_of(supply: OxygenSupply, gauge_psi: float) -> int:
    """Give how long a reading lasts those who breathe of it: whole minutes, never more.

    Args:
        supply: The cylinder and the crew.
        gauge_psi: What the gauge shows.
    """
    cylinder = Cylinder(volume_l=supply.volume_l, full_psi=gauge_psi, empty_psi=supply.empty_psi)
    minutes = lasting_min(cylinder, gauge_psi, supply.temperature_c, supply.crew, supply.flow_l_min)
    return math.floor(minutes)


def fill_psi(cylinder: Cylinder, temperature_c: float) -> float:
    """Give what the gauge shows of a full cylinder at a temperature."""
    full = content_l(cylinder, cylinder.full_psi, cylinder.full_at_c)
    return pressure_psi(cylinder, full, temperature_c)


def same_content_psi(gauge_psi: float, from_c: float, to_c: float) -> float:
    """Give what the gauge of a cylinder shows at another temperature, the content unchanged.

    Whatever its size. Found by going back and forth between the pressure and the
    compressibility factor, which settles within a few rounds as the factor is near 1.

    Args:
        gauge_psi: What it shows, psi.
        from_c: ... at this temperature of the cylinder, degrees Celsius.
        to_c: The other temperature.

    Raises:
        ValueError: If the gauge shows less than nothing, or at one of the temperatures
            oxygen may be a liquid.
    """
    if gauge_psi < 0:
        msg = f"a gauge of oxygen does not show {gauge_psi:g} psi"
        raise ValueError(msg)
    before_k, after_k = from_c + _ZERO_C_K, to_c + _ZERO_C_K
    before_pa = gauge_psi * _PA_A_PSI + _SEA_LEVEL_PA
    # pressure / (factor x temperature) is the same before and after
    density = before_pa / (compressibility(before_pa, before_k) * before_k)
    after_pa = before_pa * after_k / before_k
    for _ in range(60):
        nearer = density * after_k * compressibility(after_pa, after_k)
        step = nearer - after_pa
        after_pa = nearer
        if abs(step) < 1.0:
            break
    return (after_pa - _SEA_LEVEL_PA) / _PA_A_PSI
