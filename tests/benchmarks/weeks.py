"""A thousand generated sites: each gets a week of turns that the checker lets pass and a bad day starves nobody of.

`python -m tests.benchmarks.weeks` writes results/weeks.json, with how long a plan takes.
"""

from itertools import combinations
from statistics import median
from time import process_time

from pipeline.scheduling.bad_sun import try_bad_days
from pipeline.scheduling.checker import faults
from pipeline.scheduling.plan import plan
from pipeline.scheduling.rows import rows
from tests.benchmarks.record import record
from tests.unit.scheduling.sites import random_site

SITES = 1000
BAD_DAYS = [(day,) for day in range(7)] + list(combinations(range(7), 2))


def main() -> None:
    """Plan them all, check them, and write the figures down."""
    wrong, starving, turns, short, taken = [], [], 0, 0, []
    for seed in range(SITES):
        of = random_site(seed)
        begun = process_time()
        made = plan(of)
        taken.append(process_time() - begun)
        turns += len(made.turns)
        short += any(mm > 0 for of_block in made.short_mm for mm in of_block)
        if faults(of, rows(of, made.turns, made.short_mm, "Africa/Blantyre")):
            wrong.append(seed)
        if any(try_bad_days(of, made.turns, bad).starved for bad in BAD_DAYS):
            starving.append(seed)
    record(
        "weeks",
        {
            "sites": SITES,
            "turns": turns,
            "sites_short_of_water": short,
            "faults_of_the_checker": wrong,
            "bad_days_tried": SITES * len(BAD_DAYS),
            "starved_by_a_bad_day": starving,
            "plan_median_cpu_s": round(median(taken), 3),
            "plan_worst_cpu_s": round(max(taken), 2),
        },
    )


if __name__ == "__main__":
    main()
