"""When what was written on a day arrives at the office."""

from datetime import date, timedelta

LAST_DAY = date(2026, 10, 31)


def delivery_of(day: date) -> date:
    """Return the day on which what was written on a day arrives: the fifth of the next month."""
    return (day.replace(day=1) + timedelta(days=32)).replace(day=5)
