"""What the forecast says of a limit: the chance to be beyond it, and when the middle of it crosses."""

from firebox.estimate.forecast import Forecast


def chance_above(forecast: Forecast, celsius: float, minutes: int) -> float:
    """Return the chance to stand above a temperature so many minutes ahead, between the horizons by straight lines."""
    later = next((horizon for horizon in forecast.minutes if horizon >= minutes), forecast.minutes[-1])
    sooner = max((horizon for horizon in forecast.minutes if horizon <= minutes), default=later)
    then = forecast.probability_above(celsius, later)
    if sooner == later:
        return then
    share = (minutes - sooner) / (later - sooner)
    return (1.0 - share) * forecast.probability_above(celsius, sooner) + share * then


def minutes_to(forecast: Forecast, celsius: float) -> float | None:
    """Return when the median crosses a temperature, by straight lines between the horizons; None: not in sight."""
    then, before = 0.0, forecast.celsius
    for minutes, middle in zip(forecast.minutes, forecast.at(0.5), strict=True):
        if (before - celsius) * (middle - celsius) <= 0.0 and middle != before:
            return then + (minutes - then) * (celsius - before) / (middle - before)
        then, before = float(minutes), middle
    return None
