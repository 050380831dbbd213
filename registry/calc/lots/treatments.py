"""What a treatment of seed may have done wrong, in words: temperature and time of hot water, time in bleach."""

from dataclasses import dataclass

from registry.calc.shared.screen import unit_words

BLEACH_MINUTES_MAX = 10.0


@dataclass(frozen=True, slots=True)
class HotWaterBath:
    """The bath a species takes, as its handbook row states it: degrees Celsius, minutes, the pest, and the source of the figures."""

    low_c: float
    high_c: float
    minutes: float
    against: str
    source: str

    @property
    def words(self):
        """'47 to 50 °C for 20 minutes, against weevils'."""
        degrees = f"{self.low_c:g}" if self.low_c == self.high_c else f"{self.low_c:g} to {self.high_c:g}"
        return f"{degrees} °C for {_minutes_words(self.minutes)}, against {self.against}"


def hot_water_warnings(temperature_c: float | None, minutes: float | None, bath: HotWaterBath | None) -> tuple[str, ...]:
    """Words about a hot water bath beside the one its species takes; empty when nothing is odd.

    Parameters
    ----------
    temperature_c : float or None
        Degrees Celsius, of the water with the seed in it, all the time.
    minutes : float or None
        How long the seed was in it.
    bath : HotWaterBath or None
        None where no handbook row of the species states a bath: then only the temperature is checked for being that of water.

    Returns
    -------
    tuple of str
        A sentence for each thing that is odd.

    Raises
    ------
    ValueError
        When the temperature is that of no water: a figure up to 212 is named as a likely Fahrenheit one, with its Celsius.

    Source
    ------
    The limits are those of `bath`. That more than twice the usual time harms the seed: common practice, no source.

    Examples
    --------
    >>> bath = HotWaterBath(47, 50, 20, "weevils", "common practice")
    >>> hot_water_warnings(49, 20, bath), hot_water_warnings(45, 20, None)
    ((), ())
    >>> hot_water_warnings(45, 20, bath)
    ('45 °C is under 47 °C: the treatment against weevils fails.',)
    """
    if temperature_c is not None:
        _check_water(temperature_c)
    if bath is None:
        return ()
    said = []
    if temperature_c is not None and temperature_c < bath.low_c:
        said.append(f"{temperature_c:g} °C is under {bath.low_c:g} °C: the treatment against {bath.against} fails.")
    if temperature_c is not None and temperature_c > bath.high_c:
        said.append(f"{temperature_c:g} °C is over {bath.high_c:g} °C: this kills the embryo. Cut a sample before you rely on the lot.")
    taken = "" if minutes is None else f"{_minutes_words(minutes)} {'is' if minutes == 1 else 'are'}"
    if minutes is not None and minutes < bath.minutes:
        said.append(f"{taken} fewer than the usual {bath.minutes:g}: expect live {bath.against}.")
    if minutes is not None and minutes > 2 * bath.minutes:
        said.append(f"{taken} more than twice the usual {bath.minutes:g}: cut a sample before you rely on the lot.")
    return tuple(said)


def surface_warnings(minutes: float | None) -> tuple[str, ...]:
    """Words about surface disinfection in dilute bleach that took longer than minutes; empty when nothing is odd.

    Parameters
    ----------
    minutes : float or None
        How long the seed was in the bleach.

    Returns
    -------
    tuple of str

    Source
    ------
    Common practice, no source: a few minutes only; seed that soaks in bleach loses its embryo. The limit of ten is from memory.

    Examples
    --------
    >>> surface_warnings(3), len(surface_warnings(30))
    ((), 1)
    """
    if minutes is not None and minutes > BLEACH_MINUTES_MAX:
        return (f"{minutes:g} minutes is a soak, not a dip: bleach kills the embryo. Cut a sample before you rely on the lot.",)
    return ()


def storage_warnings(temperature_c: float | None, dies_frozen: bool) -> tuple[str, ...]:
    """Words about the temperature of a store for seed that must not freeze; empty when nothing is odd.

    Parameters
    ----------
    temperature_c : float or None
        Degrees Celsius, of the store.
    dies_frozen : bool
        Whether seed of the species dies when it freezes.

    Returns
    -------
    tuple of str

    Source
    ------
    Common practice, no source: such seed is stored damp at 1 to 4 C and never freezes; warmer it sprouts.

    Examples
    --------
    >>> storage_warnings(2, True), storage_warnings(-3, True), storage_warnings(-18, False)
    ((), ('-3 °C is below freezing: this seed dies of frost. Cut a sample.',), ())
    """
    if temperature_c is None or not dies_frozen:
        return ()
    if temperature_c < 0:
        return (f"{temperature_c:g} °C is below freezing: this seed dies of frost. Cut a sample.",)
    if temperature_c > 5:
        return (f"{temperature_c:g} °C is warmer than the usual 1 to 4 °C: expect early sprouting and mould.",)
    return ()


def _check_water(temperature_c):
    if temperature_c > 100:
        fahrenheit = f" If it is in °F, {temperature_c:g} °F are {(temperature_c - 32) / 1.8:.1f} °C." if temperature_c <= 212 else ""
        raise ValueError(f"Water is never {temperature_c:g} °C. Enter degrees Celsius.{fahrenheit}")
    if temperature_c < 0:
        raise ValueError(f"Water is never {temperature_c:g} °C. Check the thermometer.")


def _minutes_words(minutes):
    return f"{minutes:g} {unit_words(minutes, 'minutes')}"
