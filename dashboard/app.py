"""The dashboard's frame: run by Streamlit, started by `sunrill dashboard`."""

import logging
from pathlib import Path

import streamlit as st

from dashboard.find import field
from dashboard.look import style
from dashboard.start import lines
from pipeline.errors import SunrillError
from pipeline.words import say


def _say(text: str) -> None:
    """Say what went wrong, and the way on, in place of what a page can't draw."""
    st.html(f'<p class="caution" role="alert">{lines(text)}</p>')


st.set_page_config(
    page_title="Sunrill", page_icon=str(Path(__file__).with_name("static") / "icon.png"), layout="wide"
)
st.html(f"{style(say('dashboard.choose_files'))}<style>{field.STYLE}</style>")
find = st.Page("views/find.py", title=say("find_page.find"), visibility="hidden")
chosen = st.navigation(
    [
        st.Page("views/portfolio.py", title=say("dashboard.portfolio"), icon=":material/map:", default=True),
        st.Page("views/week.py", title=say("week_page.week"), icon=":material/event_repeat:"),
        st.Page("views/site.py", title=say("dashboard.site"), icon=":material/grass:"),
        st.Page("views/crop_water.py", title=say("crop_water_page.title"), icon=":material/eco:"),
        st.Page("views/sprays.py", title=say("sprays_page.sprays"), icon=":material/water_drop:"),
        st.Page("views/harvest.py", title=say("harvest_page.harvest"), icon=":material/shopping_basket:"),
        st.Page("views/files.py", title=say("dashboard.files"), icon=":material/upload_file:"),
        st.Page("views/figures.py", title=say("figures_page.title"), icon=":material/functions:"),
        find,
    ],
    position="top",
)
if field.draw() and chosen != find:
    st.switch_page(find)
try:
    chosen.run()
except SunrillError as error:  # such as a store that a newer Sunrill wrote
    _say(str(error))
except Exception:  # the framework's own box would send its reader to a search on the internet
    logging.getLogger(__name__).exception("a page ended")
    _say(say("dashboard.unforeseen"))
