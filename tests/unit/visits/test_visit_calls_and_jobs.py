"""Whom to telephone first, and which jobs are open: small real stores."""

from datetime import date, timedelta

import pytest

from pipeline.visits import ranking
from pipeline.visits.calls_first import RECENT_JOB_DAYS, asked_about, calls_first
from pipeline.visits.open_jobs import open_jobs

AS_OF = date(2026, 10, 31)


def seen(store, as_of=AS_OF, sites=None):
    """The calls and the jobs of a day, asked as a page asks."""
    with store.read() as reader:
        ranked = ranking.judged(reader, as_of, sites=sites)
        return calls_first(reader, ranked, as_of), open_jobs(reader, as_of, sites)


def judged(cause="water_unused", probability=0.45, *, stops=False, **others):
    return {
        "cause": cause, "cause_probability": probability, "stops": stops, "probabilities": {cause: probability, **others},
    }  # fmt: skip


@pytest.mark.parametrize(
    ("row", "recent", "asked"),
    [
        (judged(), False, "water_unused"),
        (judged("meter_stuck"), False, "meter_stuck"),
        (judged("blocks_doubled"), False, "blocks_doubled"),
        (judged("data_silent"), True, "data_silent"),
        (judged("data_silent"), False, None),
        (judged("intake_blocked"), True, None),
        (
            judged("pump_stopped", 0.4, meter_stuck=0.4),
            False,
            "meter_stuck",
        ),  # which of the two, a person sees
        (judged("pump_stopped", 0.5, meter_stuck=0.4), False, None),
        (judged("meter_stuck", stops=True), True, None),
        (judged("none", None), True, None),
    ],
)
def test_a_call_is_about_what_a_person_can_tell(row, recent, asked):
    """The most likely cause, or one as likely; not where a crew goes anyway, nor about a silence without a job."""
    assert asked_about(row, recent=recent) == asked


JOBS = """
    record_id | site_id | reported_at      | arrived_at       | restored_at      | water_stopped | status
    DONE      | QUIET   | 2026-10-05 09:00 |                  | 2026-10-09 09:00 |               | closed
    OLD       | MUTE    | 2026-07-01 09:00 |                  |                  | yes           | open
    YOUNG     | DOWN    | 2026-10-25 09:00 | 2026-10-26 09:00 |                  | yes           | waiting_part
    SMALL     | WELL    | 2026-06-01 09:00 |                  |                  | no            |
    UNSURE    | WELL    | 2026-05-01 09:00 |                  |                  |               | waiting_supplier
    SHUT      | WELL    | 2026-10-20 09:00 |                  |                  | yes           | closed
    LATER     | WELL    | 2026-10-10 09:00 |                  | 2026-11-02 09:00 |               | closed
    NOT-YET   | WELL    | 2026-11-02 09:00 |                  |                  |               | open
"""


@pytest.fixture(scope="module")
def store(make_field, tmp_path_factory):
    """STILL: its counter stands. QUIET: silent, with a job of late. MUTE: silent, without. DOWN: stopped. WELL."""
    f = make_field()
    for site in ("STILL", "QUIET", "MUTE", "DOWN", "WELL"):
        f.site(site)
    f.meter("W-STILL", "STILL", lambda day: 0.0 if day > date(2026, 10, 20) else 75.0)
    for site in ("QUIET", "MUTE"):
        f.meter(f"W-{site}", site, lambda _day: 75.0, until=date(2026, 10, 1))
    f.meter("W-DOWN", "DOWN", lambda _day: 75.0, until=date(2026, 10, 24))
    f.meter("W-WELL", "WELL", lambda _day: 75.0)
    f.add("contacts", site_id="STILL", role="chair", name="Asante Lipenga")
    f.add(
        "contacts", site_id="STILL", role="operator", name="Zuze Mbirani", phone="+265 000 11111", language="Chichewa",
        consent_on="2026-01-01",
    )  # fmt: skip
    f.add("contacts", site_id="WELL", role="chair", name="Nobody Calls", phone="+265 000 22222")
    for at, answer in (("2026-09-01", "all well"), ("2026-10-20", "the pump hums"), ("2026-11-02", "later")):
        f.add("calls", site_id="STILL", called_at=f"{at} 10:00", answer=answer, next_step=f"after {answer}")
    names, *rows = ([cell.strip() for cell in line.split("|")] for line in JOBS.strip().splitlines())
    for cells in rows:
        f.add("maintenance", kind="corrective", component="pump", **dict(zip(names, cells, strict=True)))
    return f.store(tmp_path_factory.mktemp("calls"))


def test_the_calls_join_contact_last_call_and_reason(store):
    """No call about WELL, MUTE or DOWN; who has a number stands first; the last call is that before the day."""
    calls, _ = seen(store)
    assert {row["site_id"]: row["ask"] for row in calls} == {"STILL": "meter_stuck", "QUIET": "data_silent"}
    assert [row["rank"] for row in calls] == sorted(row["rank"] for row in calls)
    still, quiet = sorted(calls, key=lambda row: row["site_id"], reverse=True)
    assert "2026-10-20" in still["evidence"]
    assert still["contacts"] == [
        {"role": "operator", "name": "Zuze Mbirani", "phone": "+265 000 11111", "language": "Chichewa", "agreed": True},
        {"role": "chair", "name": "Asante Lipenga", "phone": None, "language": None, "agreed": False},
    ]  # fmt: skip
    assert (still["called_on"], still["called_days_ago"]) == (date(2026, 10, 20), 11)
    assert (still["answer"], still["next_step"]) == ("the pump hums", "after the pump hums")
    assert (quiet["contacts"], quiet["called_on"], quiet["answer"]) == ([], None, None)


def test_a_job_is_recent_for_sixty_days(store):
    """QUIET's job ended on 9 October: on its 60th day after that a call is still due, on the 61st none."""
    ended = date(2026, 10, 9)
    for days, called in ((RECENT_JOB_DAYS, True), (RECENT_JOB_DAYS + 1, False)):
        calls, _ = seen(store, ended + timedelta(days=days))
        assert ("QUIET" in {row["site_id"] for row in calls}) is called


def test_open_jobs_stand_stopped_first_and_the_oldest_first(store):
    """What was restored later was open; what was closed without an end and flowed since isn't; nothing of later."""
    _, jobs = seen(store)
    assert [(job["record_id"], job["age_days"]) for job in jobs] == [
        ("OLD", 122), ("YOUNG", 6), ("UNSURE", 183), ("SMALL", 152), ("LATER", 21),
    ]  # fmt: skip
    told = {job["record_id"]: job for job in jobs}
    assert (told["YOUNG"]["waits_for"], told["YOUNG"]["arrived_on"]) == ("waiting_part", date(2026, 10, 26))
    assert told["SMALL"]["waits_for"] == "open"
    assert (told["UNSURE"]["water_stopped"], told["SMALL"]["water_stopped"]) == (None, "no")
    assert told["YOUNG"]["water_seen_on"] is None


def test_water_seen_since_a_stop_is_told(store):
    """MUTE's job says that the water stopped, and its meter counted on until October."""
    _, jobs = seen(store)
    seen_on = next(job["water_seen_on"] for job in jobs if job["record_id"] == "OLD")
    assert date(2026, 9, 25) <= seen_on <= date(2026, 10, 1)


@pytest.mark.parametrize("day", [date(2026, 10, 9), date(2026, 10, 25), AS_OF, date(2026, 11, 2)])
def test_a_store_that_goes_on_after_the_day_has_the_same_open_jobs(store, day):
    """What a site's page asks of the whole store is what the week asks of its tables as they ended on the day."""
    with store.read() as reader:
        direct = open_jobs(reader, day)
    assert direct == seen(store, day)[1]
    assert direct


def test_a_preventive_job_without_a_standing_is_a_service_that_was_done(make_field, tmp_path):
    """Its sheet is written afterwards; one that is said to be open is planned, and one that stopped the water is asked about."""
    f = make_field()
    at = {"kind": "preventive", "reported_at": "2026-10-20 09:00"}
    for site, said in (
        ("DONE", {}),
        ("PLANNED", {"status": "open"}),
        ("DRY", {"water_stopped": "yes"}),
        ("WET", {"water_stopped": "yes"}),
    ):
        f.site(site, commissioned_on=date(2026, 1, 10))
        f.add("maintenance", record_id=f"J-{site}", site_id=site, **at, **said)
        f.meter(f"W-{site}", site, lambda _day: 75.0, until=date(2026, 10, 19) if site == "DRY" else AS_OF)
    store = f.store(tmp_path)
    with store.read() as reader:
        due = {row["site_id"]: row["due_by"] for row in ranking.judged(reader, AS_OF)}
        jobs = open_jobs(reader, AS_OF)
        interval = timedelta(days=reader.settings.service_interval_days)
    assert [(job["record_id"], job["waits_for"]) for job in jobs] == [
        ("J-DRY", "closed"),
        ("J-PLANNED", "open"),
    ]
    assert due["DONE"] == due["WET"] == date(2026, 10, 20) + interval
    assert due["PLANNED"] == date(2026, 1, 10) + interval


def test_a_stop_closed_without_an_end_is_open_until_water_is_seen(make_field, tmp_path):
    """Nothing was read since: whether the water is back is a question, so the job stays on the list."""
    f = make_field()
    f.site("A")
    f.meter("W-A", "A", lambda _day: 75.0, until=date(2026, 10, 19))
    f.add(
        "maintenance", record_id="J", site_id="A", kind="corrective", reported_at="2026-10-20 09:00", water_stopped="yes",
        status="closed",
    )  # fmt: skip
    _, jobs = seen(f.store(tmp_path))
    assert [(job["record_id"], job["waits_for"]) for job in jobs] == [("J", "closed")]


def test_only_the_sites_asked_for_are_told(store):
    """Who may see WELL alone gets its jobs, and no call of another."""
    calls, jobs = seen(store, sites=["WELL"])
    assert calls == []
    assert {job["site_id"] for job in jobs} == {"WELL"}
    assert seen(store, sites=[]) == ([], [])
