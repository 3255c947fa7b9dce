"""The farmers' week: which valve is open when, and how far the water goes."""

from pipeline.scheduling.runs import Run
from pipeline.scheduling.week import Plot, Supply, Week, WeekBlock
from pipeline.scheduling.weeks import week_of, weeks_of

__all__ = ["Plot", "Run", "Supply", "Week", "WeekBlock", "week_of", "weeks_of"]
