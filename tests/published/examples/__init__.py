"""What others print beside what we compute: one list, which the tests hold and the README's table shows.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56; pages are the print's.
A remark says where the print is off, read off a figure, or known from memory only.
"""

from tests.published.examples import (
    air,
    crops,
    evaporation,
    evapotranspiration,
    radiation,
    rain,
    soil_water,
    uniformity,
)
from tests.published.examples.example import Example, Group

GROUPS: tuple[Group, ...] = (
    Group("Air (FAO-56 chapter 3)", air.EXAMPLES),
    Group("Radiation (FAO-56 chapter 3)", radiation.EXAMPLES),
    Group("Reference evapotranspiration (FAO-56 chapter 4)", evapotranspiration.EXAMPLES),
    Group("Crop coefficients (FAO-56 chapters 5 and 6)", crops.EXAMPLES),
    Group("Evaporation from the soil (FAO-56 chapter 7)", evaporation.EXAMPLES),
    Group("Water in the root zone, and yield (FAO-56 chapter 8, FAO-33)", soil_water.EXAMPLES),
    Group("Effective rain", rain.EXAMPLES),
    Group("Uniformity and application", uniformity.EXAMPLES),
)
EXAMPLES: tuple[Example, ...] = tuple(example for group in GROUPS for example in group.examples)

# what FAO-56 works out and we have no figure for
LEFT_OUT = (
    "Of FAO-56's examples 1 to 42, those about what Sunrill does not compute have no line: the evaporation pan "
    "(21 and 22; the numbers from memory), salt in the soil (39, in part), and plants that stand apart or grow "
    "wild (40, in part, and those after it)."
)
