"""The programme's settings: each with its default, unit and meaning.

A store keeps the ones that were changed; figures are computed with those of their store.
"""

from collections.abc import Sequence
from dataclasses import Field, asdict, dataclass, field, fields
from math import isfinite
from typing import Any
from zoneinfo import available_timezones

from pipeline.errors import SunrillError, UnknownName
from pipeline.tables import SOILS
from pipeline.words import say

NO_PLACE = "localtime"  # of this machine; the database knows no such zone


def _setting(
    default: Any,
    unit: str,
    meaning: str,
    low: float | None = None,
    high: float | None = None,
    among: Sequence[str] = (),
) -> Any:
    told = {"unit": unit, "meaning": meaning, "low": low, "high": high, "among": among}
    return field(default=default, metadata=told)


@dataclass(frozen=True)
class Settings:
    """What a programme may set. `Settings()` is the default of every one."""

    timezone: str = _setting("UTC", "", "clock of times without an offset where a site names none")
    currency: str = _setting("MWK", "", "of costs and prices")
    # registers
    flow_margin: float = _setting(1.25, "–", "how far above its rated flow a pump is believed", 1, 5)
    own_rate_margin: float = _setting(1.5, "–", "the same over the site's own highest ordinary rate", 1, 5)
    neighbour_rate_margin: float = _setting(2.0, "–", "a rollover's rate over its neighbours'", 1, 10)
    stuck_log_units: float = _setting(2.0, "units", "that the log gives while a stuck counter stands", 0)
    stuck_energy_share: float = _setting(0.2, "–", "of the usual energy while a stuck counter stands", 0, 1)
    longest_month_interval_days: float = _setting(45.0, "d", "a longer meter interval feeds no month", 1)
    # up and down
    flow_threshold_share: float = _setting(0.02, "–", "of the rated flow: above it, the pump delivers", 0, 1)
    input_threshold_share: float = _setting(0.05, "–", "of the rated power: above it, the pump runs", 0, 1)
    start_irradiance_wm2: float = _setting(250.0, "W/m²", "enough sun, until the log has taught it", 0)
    start_irradiance_percentile: float = _setting(0.05, "–", "of the irradiance while pumping", 0, 1)
    start_irradiance_min_intervals: int = _setting(100, "", "pumping intervals before it is learnt", 1)
    longest_up_interval_h: float = _setting(48.0, "h", "a meter interval with water up to this long: up", 0)
    service_after_sunrise_h: float = _setting(1.0, "h", "service time begins", 0, 6)
    service_before_sunset_h: float = _setting(1.0, "h", "service time ends", 0, 6)
    tank_full_pct: float = _setting(95.0, "%", "a fuller tank wants no water", 0, 100)
    long_down_run_h: float = _setting(1.0, "h", "of stand-still in the log before it is down time", 0)
    clock_off_h: float = _setting(2.5, "h", "the log's noon off the sun's: its clock is off", 0.5, 12)
    dead_log_wm2: float = _setting(20.0, "W/m²", "a whole day below it: the logger was dead", 0)
    night_input_share: float = _setting(
        0.03, "–", "of the input by night: the log's clock is looked at", 0, 1
    )
    outage_least_h: float = _setting(1.0, "h", "outages with a shorter gap are one", 0)
    # crop need
    kc_in_climate: bool = _setting(
        default=False, unit="", meaning="adjust Kc to wind and humidity, FAO-56 eq. 62 and 65: yes or no"
    )
    kc_ini_by_wetting: bool = _setting(
        default=False,
        unit="",
        meaning="Kc ini by how often the soil is wetted, FAO-56 Figures 29 and 30: yes or no",
    )
    wetting_interval_days: float = _setting(2.0, "d", "between irrigations while a crop is small", 0.5, 30)
    wetting_depth_mm: float = _setting(10.0, "mm", "of one of them", 1, 100)
    crop_rows: str = _setting(
        "default",
        "",
        "rows of FAO-56 Table 11 for a crop's stages: default, or by_planting, its month",
        among=("default", "by_planting"),
    )
    effective_rain_share: float = _setting(0.8, "–", "of a day's rain that reaches the store", 0, 1)
    effective_rain_least_mm: float = _setting(2.0, "mm", "a day's rain below it is lost", 0)
    effective_rain_store_mm: float = _setting(25.0, "mm", "that a block can hold", 0)
    need_by_root_zone: bool = _setting(
        default=False,
        unit="",
        meaning="effective rain by what the roots can hold, not by the block's store: yes or no",
    )
    default_soil: str = _setting(
        "sandy_loam", "", "of blocks that name none: a texture class of FAO-56 Table 19", among=SOILS.split()
    )
    dual_crop_coefficient: bool = _setting(
        default=False,
        unit="",
        meaning="in the soil's water: crop and bare soil apart, FAO-56 chapter 7: yes or no",
    )
    start_depletion_share: float = _setting(
        0.5, "–", "of the available water that can be missing at planting, within the roots and below", 0, 1
    )
    known_day_cover: float = _setting(0.95, "–", "of a day: less, and its irrigation is unknown", 0.5, 1)
    station_alone_km: float = _setting(1.0, "km", "a station this near speaks alone", 0)
    station_farthest_km: float = _setting(100.0, "km", "no need beyond it", 0)
    station_low_trust_km: float = _setting(20.0, "km", "low trust beyond it", 0)
    survey_level_days: int = _setting(60, "d", "that a survey's water level corrects the head", 0)
    served_supply: float = _setting(0.8, "–", "of the need in a month: an area counts as served", 0)
    judged_coverage: float = _setting(0.7, "–", "of a month's time known: below it can't be judged", 0, 1)
    # sprays; common practice after Merriam, Keller (1978), from memory: a low quarter below 0.6 is poor, and
    # 0.75 is the coefficient that goes with it; the year and the share of the flow are common practice, no source
    spray_evidence_days: int = _setting(365, "d", "that a survey's cans and gauges speak for the sprays", 1)
    even_christiansen: float = _setting(0.75, "–", "a lower uniformity of the cans is uneven", 0, 1)
    even_low_quarter: float = _setting(0.6, "–", "the same of the low quarter of the cans", 0, 1)
    design_flow_least: float = _setting(
        0.8, "–", "of its design flow: a block with less gets too little", 0, 1
    )
    # visits
    service_overdue_days: int = _setting(270, "d", "since the last preventive job", 1)
    service_interval_days: int = _setting(180, "d", "planned between preventive jobs", 1)
    horizon_days: int = _setting(14, "d", "over which a visit's worth is counted", 1, 60)
    # schedule
    run_usual_min: int = _setting(60, "min", "that a valve is usually open", 1, 600)
    run_least_min: int = _setting(10, "min", "a shorter run is not worth the walk", 1, 120)
    changeover_min: int = _setting(2, "min", "to open the next valve and close the last", 0, 30)
    delivery_quantile: float = _setting(
        0.6, "–", "of the log's flow while pumping, by hour: taken as what the pump delivers", 0.05, 0.95
    )
    # store
    slice_sites: int = _setting(250, "sites", "in one slice of the store", 1)

    def as_parameters(self) -> dict[str, object]:
        """Return every setting by name, for named parameters in SQL."""
        return asdict(self)

    def text_of(self, name: str) -> str:
        """Return a setting as somebody would write it."""
        value = getattr(self, name)
        return ("no", "yes")[value] if isinstance(value, bool) else str(value)

    def texts(self) -> dict[str, str]:
        """Return every setting by name as a sentence has it: 45, not 45.0.

        Examples
        --------
        >>> Settings().texts()["longest_month_interval_days"], Settings().texts()["kc_in_climate"]
        ('45', 'no')
        """
        return {
            name: f"{value:.12g}" if isinstance(value, float) else self.text_of(name)
            for name, value in asdict(self).items()
        }

    def changed(self, name: str, text: str) -> "Settings":
        """Return the settings with one set from its text.

        Raises
        ------
        UnknownName
            Where no setting has the name.
        SunrillError
            Where the text is no value of that setting.
        """
        return Settings(**asdict(self) | {name: _value(setting(name), text)})


def setting(name: str) -> "Field[Any]":
    """Return the setting of a name, with its unit and meaning.

    Raises
    ------
    UnknownName
        Where there is none.
    """
    found = next((f for f in fields(Settings) if f.name == name), None)
    if found is None:
        raise UnknownName(say("config.no_setting", name=name), mend=say("config.no_setting_mend"))
    return found


def _value(of: "Field[Any]", text: str) -> object:
    if isinstance(of.default, str):
        if of.name == "timezone" and text not in available_timezones() - {NO_PLACE}:
            raise _refused(of, "no_timezone", text)
        if of.metadata["among"] and text not in of.metadata["among"]:
            raise _refused(of, "not_among", text)
        return text
    if isinstance(of.default, bool):
        if text not in ("yes", "no"):
            raise _refused(of, "yes_or_no", text)
        return text == "yes"
    try:
        value = int(text) if isinstance(of.default, int) else float(text)
    except ValueError as error:
        raise _refused(of, "no_number", text) from error
    low, high = of.metadata["low"], of.metadata["high"]
    if not isfinite(value) or value < low or (high is not None and value > high):
        raise _refused(of, "out_of_range", text)
    return value


def _refused(of: "Field[Any]", rule: str, text: str) -> SunrillError:
    low, high = of.metadata["low"], of.metadata["high"]
    bounds = say("config.at_least", low=low) if high is None else say("config.between", low=low, high=high)
    mend = say(f"config.{rule}_mend", bounds=bounds, among=", ".join(of.metadata["among"]))
    return SunrillError(say(f"config.{rule}", text=text), where=of.name, mend=mend)
