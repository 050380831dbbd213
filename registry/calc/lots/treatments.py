"""What a treatment of seed may have done wrong, in words: temperature and time of hot water, time in bleach."""

WEEVILS_LIVE_BELOW_C = 47.0
EMBRYO_DIES_ABOVE_C = 50.0
HOT_WATER_MINUTES = 20.0
BLEACH_MINUTES_MAX = 10.0


def hot_water_warnings(temperature_c: float | None, minutes: float | None) -> tuple[str, ...]:
    """Words about a hot water bath against weevils; empty when nothing is odd.

    Parameters
    ----------
    temperature_c : float or None
        Degrees Celsius, of the water with the seed in it, all the time.
    minutes : float or None
        How long the seed was in it.

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
    Common practice, no source: 120 F (49 C) for 20 minutes; below 117 F (47 C) it fails, hotter kills the embryo.

    Examples
    --------
    >>> hot_water_warnings(49, 20)
    ()
    >>> hot_water_warnings(45, 20)
    ('45 °C is under 47 °C: the weevil treatment fails.',)
    """
    said = []
    if temperature_c is not None:
        _check_water(temperature_c)
        if temperature_c < WEEVILS_LIVE_BELOW_C:
            said.append(f"{temperature_c:g} °C is under 47 °C: the weevil treatment fails.")
        if temperature_c > EMBRYO_DIES_ABOVE_C:
            said.append(f"{temperature_c:g} °C is over 50 °C: this kills the embryo. Cut a sample before you rely on the lot.")
    if minutes is not None and minutes < HOT_WATER_MINUTES:
        said.append(f"{minutes:g} minutes are fewer than the usual 20: expect live weevils.")
    if minutes is not None and minutes > 2 * HOT_WATER_MINUTES:
        said.append(f"{minutes:g} minutes are more than twice the usual 20: cut a sample before you rely on the lot.")
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
    Common practice, no source: nuts are stored damp at 1 to 4 C and never freeze; warmer they sprout.

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
        raise ValueError(f"Water is never {temperature_c:g} °C. Look at the thermometer again.")
