"""The colours, light and dark: contrast by WCAG 2.2, what is left of them for colour-blind eyes, and that none is elsewhere."""

import re
from base64 import b64decode
from dataclasses import asdict
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from coloraide import Color

import dashboard
from dashboard.charts.legend import FAINT, LINES, SIGNS, legend
from dashboard.charts.season import FILLS
from dashboard.legend import legend as map_legend
from dashboard.look import DARK, LIGHT
from dashboard.patch import as_uri, patch

LOOKS = {"light": asdict(LIGHT), "dark": asdict(DARK)}
EYES = ("ordinary", "protan", "deutan", "tritan")
UNDER = ("ground", "paper", "hover", "picked")
HEX = re.compile(r"#(?:[0-9a-fA-F]{6}|[0-9a-fA-F]{3})\b")

every_look = pytest.mark.parametrize("look", LOOKS)
every_eye = pytest.mark.parametrize("eyes", EYES)


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, "contrast ratio", of WCAG 2.1's relative luminances."""
    return float(Color(one).contrast(other, method="wcag21"))


def seen(colour: Color, eyes: str) -> Color:
    """A colour as an eye without one kind of cone sees it.

    Machado, Oliveira & Fernandes (2009), "A physiologically-based model for simulation of color vision deficiency",
    IEEE TVCG 15(6), 1291-1298, at full severity.
    """
    return colour if eyes == "ordinary" else colour.filter(eyes, method="machado").clip("srgb")


def apart(one: str, other: str, eyes: str) -> float:
    """The distance of two colours to an eye: CIEDE2000."""
    return float(seen(Color(one), eyes).delta_e(seen(Color(other), eyes), method="2000"))


def test_the_formulas_are_the_published_ones() -> None:
    """Black on white is 21:1, #777777 on white 4.48:1 (WCAG 2.2); pure red to protan eyes is Machado's first column;
    the first pair of Sharma, Wu & Dalal (2005), Color Research & Application 30(1), table 1, lies 2.0425 apart.
    """
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)
    red = Color("color(srgb-linear 1 0 0)").filter("protan", method="machado").convert("srgb-linear")
    assert red.coords() == pytest.approx([0.152286, 0.114503, -0.003882])
    pair = [Color("lab-d65", lab) for lab in ([50, 2.6772, -79.7751], [50, 0, -82.7485])]
    assert pair[0].delta_e(pair[1], method="2000") == pytest.approx(2.0425, abs=1e-4)


@every_look
@pytest.mark.parametrize("under", UNDER)
@pytest.mark.parametrize("text", ["ink", "quiet", "water", "alarm"])
def test_text_can_be_read(look: str, text: str, under: str) -> None:
    """WCAG 2.2, 1.4.3 (AA): 4.5:1 for text, on a row that is pointed at or chosen too."""
    assert contrast(LOOKS[look][text], LOOKS[look][under]) >= 4.5


@every_look
def test_the_words_of_a_button_in_water_can_be_read(look: str) -> None:
    """WCAG 2.2, 1.4.3 (AA): 4.5:1; the framework's own white would be 2.4:1 in the dark."""
    assert contrast(LOOKS[look]["paper"], LOOKS[look]["water"]) >= 4.5


@every_look
@pytest.mark.parametrize("under", ["ground", "paper"])
@pytest.mark.parametrize("mark", ["ink", "quiet", "water", "alarm", "soil"])
def test_what_is_drawn_can_be_seen(look: str, mark: str, under: str) -> None:
    """WCAG 2.2, 1.4.11 (AA): 3:1 for graphics that carry meaning, dry rows too; lines and roads only part and place."""
    assert contrast(LOOKS[look][mark], LOOKS[look][under]) >= 3.0


@every_look
@every_eye
@pytest.mark.parametrize(
    ("one", "other"),
    [*combinations(("ink", "quiet", "water", "alarm", "soil"), 2), ("road", "quiet"), ("road", "ink")],
)
def test_colours_are_told_apart_by_colour_blind_eyes(look: str, eyes: str, one: str, other: str) -> None:
    """Of patch, chart and map: 14 or more, where about 1 is just noticed (from memory); shape and hatching tell them too."""
    assert apart(LOOKS[look][one], LOOKS[look][other], eyes) >= 14


@every_look
@every_eye
def test_stages_that_follow_each_other_are_told_apart(look: str, eyes: str) -> None:
    """The soil shows less or more as the crop covers the ground: 5 or more from the stage before and after."""
    ground, soil = LOOKS[look]["ground"], LOOKS[look]["soil"]
    stages = [
        Color(ground).mix(soil, covered, space="srgb").to_string(hex=True) for covered in FILLS.values()
    ]
    assert min(apart(one, other, eyes) for one, other in pairwise(stages)) >= 5


def test_two_colours_that_collapse_are_found() -> None:
    """The check can fail: a red and a green of one lightness are nearly one to deutan eyes."""
    assert apart("#a06a3a", "#7a7a3a", "ordinary") > 14
    assert apart("#a06a3a", "#7a7a3a", "deutan") < 14


def test_a_colour_of_the_light_look_has_one_name() -> None:
    """Else its dark counterpart would be a guess."""
    assert len(set(LOOKS["light"].values())) == len(LOOKS["light"])


@pytest.mark.parametrize("drawing", [patch(1.3, 0.5, 1.0), patch(None, None)])
def test_a_picture_turns_dark_by_itself(drawing: str) -> None:
    """Each of its colours has a rule beside it that puts the dark one in its place."""
    assert "var(" not in drawing  # a picture of its own knows no name of the page's
    turned = b64decode(as_uri(drawing).split(",")[1]).decode()
    for colour in HEX.findall(drawing):
        dark = DARK.__dict__[next(name for name, light in LOOKS["light"].items() if light == colour)]
        assert re.search(rf'\[(fill|stroke)="{colour}"\]{{\1:{dark}}}', turned)


def test_every_sign_of_a_legend_is_drawn_in_the_looks_colours() -> None:
    """What isn't, would stay light."""
    made = legend([(sign, "") for sign in [*SIGNS, *LINES, *FAINT, "dashed", "gap", "site", 0.5]])
    made += map_legend(1.0, 1000, moved=True)
    drawn = "".join(b64decode(picture).decode() for picture in re.findall(r'base64,([^"]+)"', made))
    assert "var(" not in drawn
    assert set(HEX.findall(drawn)) <= {*LOOKS["light"].values(), *LOOKS["dark"].values()}


def test_no_colour_stands_outside_the_look() -> None:
    """Of the dashboard's own files only look.py knows a colour by its number."""
    root = Path(dashboard.__file__).parent
    ours = [path for path in root.rglob("*") if path.suffix in {".py", ".js"} and "static" not in path.parts]
    assert root / "look.py" in ours
    found = {
        path.name: HEX.findall(path.read_text(encoding="utf-8")) for path in ours if path.name != "look.py"
    }
    assert {name: colours for name, colours in found.items() if colours} == {}
