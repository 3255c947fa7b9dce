"""A real log of repairs with its mistakes, through the intake.

The fourteen rows are those of an example file of pvOps (Sandia National Laboratories, BSD 3-Clause,
`example_om_data2.csv`): site, kind, start, end and work order, the times written year first. Two rows of
kind `vegetation`, which the contract doesn't have, became `preventive`; whether the site stood still
is our reading of their descriptions.
"""

import pytest

# Sandia National Laboratories, pvOps, example_om_data2.csv: 14 rows, one without a site, two without an
# end, two that end before they start
LOG = """
    record_id | site_id | kind       | reported_at      | restored_at      | water_stopped
    100       |         | corrective | 2018-05-02 12:00 | 2018-05-17 16:00 | yes
    101       | R23     | preventive | 2018-05-19 15:44 | 2018-05-19 13:04 | yes
    102       | R23     | corrective | 2018-06-15 06:46 | 2018-06-15 10:30 | yes
    103       | R23     | corrective | 2018-06-18 11:20 | 2018-06-18 14:03 | yes
    104       | R23     | preventive | 2018-07-21 04:45 | 2018-07-21 13:15 | yes
    105       | R23     | corrective | 2018-07-21 13:16 | 2018-07-21 14:25 | yes
    106       | R23     | corrective | 2018-07-25 14:20 | 2018-07-25 16:40 | yes
    107       | R23     | corrective | 2018-08-01 11:45 |                  | no
    108       | R23     | corrective | 2018-08-02 01:05 | 2018-08-02 09:28 | yes
    1         | R27     | corrective | 2018-09-14 10:00 | 2018-09-16 16:00 | yes
    2         | R27     | preventive | 2018-09-24 10:00 | 2018-09-16 17:00 | no
    3         | R27     | corrective | 2018-09-19 07:00 | 2018-10-11 20:00 | no
    4         | R27     | preventive | 2018-10-13 12:00 | 2018-10-13 17:00 | no
    5         | R27     | preventive | 2018-10-14 11:00 |                  | no
"""


@pytest.fixture(scope="module")
def programme(load):
    """Two sites and the log."""
    return load(
        sites="site_id|name|latitude|longitude|commissioned_on\nR23|a|0|0|2018-01-01\nR27|b|0|0|2018-01-01",
        maintenance=LOG,
    )


def test_each_row_of_the_log_has_a_fate(programme):
    """Of 14 rows the one without a site is rejected, 13 are taken."""
    (line,) = [line for line in programme.report.files if line.table == "maintenance"]
    assert (line.rows, line.taken, line.rejected, line.held) == (14, 13, 1, 0)


def test_an_end_before_its_start_is_a_flaw(programme):
    """Two ends are left empty and told; the two that are empty anyway aren't."""
    flaws = [f for f in programme.report.faults if f.table == "maintenance" and f.fate == "flaw"]
    assert [(fault.column, fault.line) for fault in flaws] == [("restored_at", 3), ("restored_at", 12)]
    assert programme.rows("SELECT count(*) FROM maintenance WHERE restored_at IS NULL") == [(4,)]


def test_what_the_log_leaves_open_is_no_time_of_repair(programme):
    """The median time to water is that of the six stops that have an end."""
    # the middle of 2.333, 2.717, 8.5, 1.15, 3.733 and 8.383 h: the mean of 2.717 and 3.733 h
    figures = programme.site("R23", "2018-01-01", "2018-08-31")
    assert figures["report_to_water_days"] == pytest.approx((2.717 + 3.733) / 2 / 24, abs=0.006)
