"""The dashboard's server: the pages, and the one without a script beside them."""

from pathlib import Path

import streamlit as st
from starlette.routing import Route

from dashboard.plain import respond

app = st.App(Path(__file__).with_name("app.py"), routes=[Route("/plain", respond)])
