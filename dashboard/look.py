"""The look, once, light and dark: ground, ink, water and alarm; the typeface; what Streamlit shows that we don't.

The reader's system says which of the two is shown, and the browser chooses: one page serves both. A style takes a
colour by its name (`INK`). A drawing is made in the light colours (`LIGHT.ink`), which every program can show, and a
style beside it puts the dark ones in their place. On paper it is always light.
"""

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Palette:
    """The colours as `#rrggbb`; no two are the same, so that a drawing's colour has one name."""

    ground: str
    paper: str  # what lies on the ground: a plot, a list, a field
    hover: str  # a row under the pointer
    picked: str  # the row that was chosen
    ink: str
    quiet: str
    water: str
    alarm: str
    soil: str
    line: str  # between rows: it parts, and says nothing
    road: str  # below what is said on a map


LIGHT = Palette(
    ground="#f8f6f0", paper="#ffffff", hover="#f1eee4", picked="#eaf1f5",
    ink="#1f2b30", quiet="#5d676b", water="#17679b", alarm="#a8321e", soil="#97865f", line="#d9d3c4", road="#cbbfa6",
)  # fmt: skip
DARK = Palette(
    ground="#161d21", paper="#1e272c", hover="#263138", picked="#1f3442",
    ink="#e6e2d8", quiet="#949d9e", water="#62aee3", alarm="#ff9a8c", soil="#84764f", line="#39444a", road="#5f5a4b",
)  # fmt: skip
GROUND, PAPER, HOVER, PICKED, INK, QUIET, WATER, ALARM, LINE = (
    f"var(--{name})"
    for name in ("ground", "paper", "hover", "picked", "ink", "quiet", "water", "alarm", "line")
)


def darkened(drawing: str | None = None) -> str:
    """Return the style that shows the dark colours in the place of a drawing's light ones; None: of any drawing.

    >>> darkened('<path stroke="#17679b"/>')
    '@media screen and (prefers-color-scheme:dark){[stroke="#17679b"]{stroke:#62aee3}}'
    """
    swaps = ((f'{part}="{light}"', f"{part}:{dark}") for part, light, dark in _swaps())
    return in_the_dark(f"[{old}]{{{new}}}" for old, new in swaps if drawing is None or old in drawing)


def _swaps() -> Iterator[tuple[str, str, str]]:
    """What is coloured in a drawing, the light colour, and the dark one."""
    for light, dark in zip(asdict(LIGHT).values(), asdict(DARK).values(), strict=True):
        yield "fill", light, dark
        yield "stroke", light, dark


def in_the_dark(rules: Iterable[str]) -> str:
    """Return rules that hold where the reader's system is dark, on a screen."""
    return f"@media screen and (prefers-color-scheme:dark){{{''.join(rules)}}}"


def _chart_swap(part: str, light: str, dark: str) -> str:
    """The same in a chart, where plotly writes a colour into a style, or for a hatching into an attribute."""
    rgb = "rgb({}, {}, {})".format(*(int(light[at : at + 2], 16) for at in (1, 3, 5)))
    places = f'.js-plotly-plot [style*="{part}: {rgb}"],.js-plotly-plot [{part}="{rgb}"]'
    return f"{places}{{{part}:{dark}!important}}"


FONT = "/app/static/font/atkinson-hyperlegible"


def _face(weight: int, subset: str, letters: str) -> str:
    source = f"{FONT}-{subset}-{weight}-normal.woff2"
    return (
        f"@font-face{{font-family:'Atkinson Hyperlegible';font-weight:{weight};font-display:swap;"
        f"src:url('{source}') format('woff2');unicode-range:{letters}}}"
    )


def _named(colours: Palette, scheme: str) -> str:
    names = ";".join(f"--{name}:{colour}" for name, colour in asdict(colours).items())
    return f":root{{color-scheme:{scheme};{names}}}"


COLOURS = _named(LIGHT, "light") + in_the_dark([_named(DARK, "dark")])
LATIN, EXTENDED = "U+0000-00FF,U+2000-206F,U+2212", "U+0100-024F,U+1E00-1EFF"

STYLE = f"""
{COLOURS}{in_the_dark(_chart_swap(*swap) for swap in _swaps())}
{_face(400, "latin", LATIN)}{_face(700, "latin", LATIN)}{_face(400, "latin-ext", EXTENDED)}{_face(700, "latin-ext", EXTENDED)}
.stApp iframe {{color-scheme:inherit}}
html, body, .stApp, .stApp p, .stApp label, .stApp input, .stApp button, .stApp h1, .stApp h2, .stApp h3
  {{font-family:'Atkinson Hyperlegible',sans-serif}}
.stMainBlockContainer {{padding-top:4rem;padding-bottom:3rem;max-width:84rem}}
.stMainBlockContainer [data-testid="stVerticalBlock"] {{gap:.75rem}}
.stApp h1.unseen {{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);padding:0;margin:0}}  /* the menu shows it */
.stApp h2 {{font-size:1.35rem;font-weight:700;padding:0;margin:.8rem 0 .3rem;overflow-wrap:anywhere;scroll-margin-top:4.5rem;
  display:-webkit-box;-webkit-box-orient:vertical;-webkit-line-clamp:3;overflow:hidden}}
.stApp h2:focus {{outline:none}}
.stApp h3 {{font-size:1rem;font-weight:700;padding:0;margin:0;overflow-wrap:anywhere}}
.stApp p {{margin:0;overflow-wrap:anywhere}}
.stHtml a {{color:{WATER};text-underline-offset:3px}}
.stApp .answer {{font-size:1.2rem;line-height:1.45;max-width:66rem;border-left:4px solid {WATER};padding-left:.9rem}}
.answer + p {{margin-top:.5rem}}
.stApp .caution {{border-left:4px solid {ALARM};padding-left:.9rem;max-width:62rem}}
.stApp .empty {{font-size:1.2rem;line-height:1.45;max-width:62rem}}
.figures {{border-collapse:collapse;width:100%;max-width:66rem}}
.figures td, .figures th {{border:0;border-bottom:1px solid {LINE};padding:.3rem .8rem .3rem 0;text-align:left;vertical-align:top;font-weight:400;overflow-wrap:anywhere}}
.figures thead th {{color:{QUIET};font-size:.9rem}}
.figures tbody.group th {{padding-top:1rem;font-weight:700}}
.figures .number {{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap;overflow-wrap:normal}}
.figures td.unit {{white-space:nowrap;overflow-wrap:normal;padding-left:0}}
.stApp .figures a {{color:inherit;text-decoration-color:{WATER};text-underline-offset:3px}} .stApp .figures a:hover {{color:{WATER}}}
.stApp .quiet {{color:{QUIET}}}
.stApp dl.together, main dl.together {{display:flex;flex-wrap:wrap;gap:.4rem 1.6rem;margin:0;padding:0}} .together div {{min-width:7.5rem}}
.together dt {{color:{QUIET};font-size:.9rem}} .together dd {{margin:0;font-variant-numeric:tabular-nums}} .together small {{display:block;color:{QUIET};font-size:.85rem}}
.promises td, .promises th {{white-space:nowrap;overflow-wrap:normal}} .promises td:last-child {{white-space:normal;min-width:15rem}} .figures small {{display:block;color:{QUIET};font-size:.85rem}}
.figures tr.picked {{background:{PICKED}}} .districts td:first-child {{min-width:8rem}} .districts th {{overflow-wrap:normal}} .districts th.number {{white-space:normal}}
.stApp .legend {{color:{QUIET};font-size:.9rem;line-height:1.9}}
.legend span {{display:inline-block;max-width:100%;margin-right:.9rem}} .legend img {{vertical-align:middle;margin-right:.3rem}}
.scroll {{overflow-x:auto}} .figures.wide {{min-width:48rem}} .figures.wide td:not(.number) {{min-width:5rem}}
:focus-visible, .stApp :is(a, button, summary):focus-visible {{outline:3px solid {WATER};outline-offset:2px}}
.stApp .stMain:focus-visible {{outline:3px solid {WATER};outline-offset:-3px}}
.stApp [data-testid="stBaseButton-primary"], [role="gridcell"] [data-selected="true"] {{color:{PAPER}}}  /* the framework's white can't be read on a light water */
@media print {{ .stApp {{color-scheme:light;color:{INK};background:none}} .stApp :where(*) {{color:inherit}} }}
[data-testid="stElementToolbar"] {{display:none}}  /* its download doesn't disarm formulas: ours does */
@media screen and (max-width: 1000px) {{  /* a laptop at twice the size: what stood beside each other is not cut, it goes below */
  .stMain [data-testid="stHorizontalBlock"] {{flex-wrap:wrap}} .stMain [data-testid="stColumn"] {{min-width:100%}}
  .stMain .st-key-choices [data-testid="stColumn"] {{min-width:10.5rem}}
}}
@media (max-width: 640px) {{
  .stMainBlockContainer {{padding-left:1rem;padding-right:1rem}}
  .stApp .answer {{font-size:1.1rem}}
  .st-key-choices [data-testid="stHorizontalBlock"] {{gap:.6rem 1rem}}
  .stMain .st-key-choices [data-testid="stColumn"] {{min-width:calc(50% - 1rem);flex:1 1 calc(50% - 1rem);width:auto}}
  .facts tr {{display:grid;grid-template-columns:1fr auto auto;column-gap:.4rem;border-bottom:1px solid {LINE};padding:.35rem 0}}
  .facts td, .facts th {{border:0;padding:0}}
  .labelled thead {{display:none}} .labelled tr {{display:block;border-bottom:1px solid {LINE};padding:.5rem 0}}
  .labelled td, .labelled td.number {{display:grid;grid-template-columns:40% minmax(0,1fr);column-gap:.6rem;border:0;padding:.1rem 0;text-align:left;white-space:normal;overflow-wrap:anywhere}}
  .labelled td::before {{content:attr(data-head);color:{QUIET};font-size:.9rem}} .labelled td > * {{grid-column:2}} .stApp .labelled td:last-child {{min-width:0}}
  .facts td.says {{grid-column:1/-1;font-size:.9rem}} .facts thead {{display:none}}
}}
"""


def style(choose_files: str) -> str:
    """Return the look as HTML; the uploader's own English gives way to our words."""
    words = json.dumps(choose_files)  # CSS takes the same quotes and escapes for plain text
    return f"""<style>{STYLE}
[data-testid="stFileUploaderDropzoneInstructions"] {{display:none}}
[data-testid="stFileUploaderDropzone"] > span > button p, [data-testid="stFileUploaderDropzone"] button [data-testid="stMarkdownContainer"] p {{font-size:0}}
[data-testid="stFileUploaderDropzone"] button p::after {{content:{words};font-size:1rem}}
</style>"""


# after a pick: the heading of the site comes into view and has the keyboard's focus
FOCUS = """<script>/* pick {turn} */ setTimeout(() => {{
    const heading = document.getElementById("site");
    if (heading) heading.focus();
}}, 250)</script>"""
