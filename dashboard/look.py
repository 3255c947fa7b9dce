"""The look, once: ground, ink, water and alarm; the typeface; what Streamlit shows that we don't."""

GROUND = "#f8f6f0"
INK = "#1f2b30"
QUIET = "#5d676b"  # 5.4 : 1 on the ground
WATER = "#17679b"  # 5.7 : 1 on the ground
ALARM = "#a8321e"
SOIL = "#b9ab8e"
LINE = "#d9d3c4"

FONT = "/app/static/font/atkinson-hyperlegible"


def _face(weight: int, subset: str, letters: str) -> str:
    source = f"{FONT}-{subset}-{weight}-normal.woff2"
    return (
        f"@font-face{{font-family:'Atkinson Hyperlegible';font-weight:{weight};font-display:swap;"
        f"src:url('{source}') format('woff2');unicode-range:{letters}}}"
    )


LATIN, EXTENDED = "U+0000-00FF,U+2000-206F,U+2212", "U+0100-024F,U+1E00-1EFF"

STYLE = f"""<style>
{_face(400, "latin", LATIN)}{_face(700, "latin", LATIN)}{_face(400, "latin-ext", EXTENDED)}{_face(700, "latin-ext", EXTENDED)}
html, body, .stApp, .stApp p, .stApp label, .stApp input, .stApp button, .stApp h1, .stApp h2, .stApp h3
  {{font-family:'Atkinson Hyperlegible',sans-serif}}
.stMainBlockContainer {{padding-top:4.2rem;padding-bottom:2rem;max-width:84rem}}
.stApp h1 {{font-size:1.5rem;font-weight:700;padding:0}}
.answer {{font-size:1.25rem;line-height:1.45;max-width:62rem;margin:.2rem 0 1rem;border-left:4px solid {WATER};padding-left:.9rem}}
.caution {{border-left:4px solid {ALARM};padding-left:.9rem;max-width:62rem}}
.figures {{border-collapse:collapse;width:100%;max-width:62rem}}
.figures td, .figures th {{border-bottom:1px solid {LINE};padding:.3rem .6rem;text-align:left;vertical-align:top}}
.figures td.number {{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}}
.figures th.number {{text-align:right}}
.quiet {{color:{QUIET}}}
.legend {{color:{QUIET};font-size:.9rem}} .legend img {{vertical-align:middle;margin:0 .2rem 0 .7rem}}
[data-testid="stElementToolbar"] {{display:none}}  /* its download doesn't disarm formulas: ours does */
</style>"""
