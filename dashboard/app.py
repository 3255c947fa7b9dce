"""The dashboard's frame: run by Streamlit, started by `sunrill dashboard`."""

from pathlib import Path

import streamlit as st

from dashboard.look import STYLE
from pipeline.words import say

st.set_page_config(
    page_title="Sunrill", page_icon=str(Path(__file__).with_name("static") / "icon.png"), layout="wide"
)
st.html(STYLE)
st.navigation(
    [
        st.Page("pages/portfolio.py", title=say("dashboard.portfolio"), icon=":material/map:", default=True),
        st.Page("pages/files.py", title=say("dashboard.files"), icon=":material/upload_file:"),
    ],
    position="top",
).run()
