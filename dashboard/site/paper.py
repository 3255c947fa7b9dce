"""A site's page on paper: what it looks like on screen and on one A4, and how it gets there."""

from dashboard.look import LINE, QUIET

STYLE = f"""<style>
.stApp h2 img, .stApp a {{vertical-align:middle}}
.numbers summary {{cursor:pointer;color:{QUIET};font-size:.9rem;padding:.2rem 0}} .numbers .figures {{font-size:.9rem}}
.st-key-site_charts [data-testid="stVerticalBlock"] {{gap:.25rem}}
.st-key-site_charts h3 {{margin-top:.6rem}} .st-key-site_charts h3 .quiet {{font-weight:400;white-space:nowrap}} .st-key-site_charts p.quiet {{font-size:.9rem}}
@media (min-width: 641px) {{ .st-key-choices .back {{padding-bottom:.55rem;white-space:nowrap}} }}
@media print {{
  @page {{size:A4 portrait;margin:9mm 10mm}}
  html, body, #root, .stApp, .stApp > *, [data-testid="stAppViewContainer"], [data-testid="stMain"], .stMain
    {{position:static!important;overflow:visible!important;height:auto!important;min-height:0!important;width:auto!important}}
  html, body, .stApp {{background:none!important}}
  .stMainBlockContainer {{padding:0!important;max-width:none!important}}
  .stMain [data-testid="stLayoutWrapper"], .stMain [data-testid="stElementContainer"], .stMain [data-testid="stColumn"] {{margin:0 0 .8mm!important}}
  [data-testid="stHeader"], [data-testid="stToolbar"], [data-testid="stSidebar"], [data-testid="stStatusWidget"], [data-testid="stDecoration"],
  .st-key-choices, .st-key-site_after, .stButton, .stDownloadButton, .stSpinner, .stApp a, .numbers, .no_print {{display:none!important}}
  .stApp, .stApp p, .stApp .answer {{font-size:8.6pt;line-height:1.28}} .stApp .answer {{font-size:10.5pt}}
  .stApp h2 {{font-size:13pt;margin:0}} .stApp h3 {{font-size:9.5pt;margin:0!important}}
  .stApp .caution {{font-size:7.8pt;max-width:none}} .stApp .legend, .st-key-site_charts p.quiet {{font-size:7.4pt!important;line-height:1.35}}
  .legend img {{height:2.4mm;width:auto}}
  .answer + p {{margin-top:.6mm}} .stApp h3 .quiet {{font-weight:400}}
  .st-key-site_charts {{display:grid!important;grid-template-columns:1fr 1fr;gap:2mm 5mm!important;align-items:start;border-top:1px solid {LINE};padding-top:1mm}}
  .st-key-site_charts > *, .st-key-site_charts [data-testid="stHorizontalBlock"] {{display:contents!important}}
  .st-key-site_charts [data-testid="stColumn"] {{width:auto!important;min-width:0!important;break-inside:avoid}}
  .st-key-site_charts [data-testid="stColumn"]:has(.st-key-cell_water), .st-key-site_charts [data-testid="stColumn"]:has(.st-key-cell_season) {{grid-column:1 / -1}}
  .st-key-site_charts [data-testid="stColumn"]:has(.st-key-cell_energy), .st-key-site_charts [data-testid="stColumn"]:has(.st-key-cell_blocks) {{grid-row:3}}
  [class*="st-key-chart_"], [class*="st-key-chart_"] div {{min-height:0!important;height:auto!important}}
  .stPlotlyChart, .stPlotlyChart div {{width:100%!important}}
  .js-plotly-plot .svg-container {{position:relative!important}}
  .js-plotly-plot .main-svg {{position:absolute!important;left:0;top:0;width:100%!important;height:100%!important}}
  .js-plotly-plot .svg-container > .main-svg:first-child {{position:static!important;display:block;height:var(--paper)!important}}
  .st-key-chart_water {{--paper:46mm}} .st-key-chart_season {{--paper:56mm}} .st-key-chart_energy, .st-key-chart_blocks {{--paper:40mm}}
}}
</style>"""

# a chart's drawing has no box of its own that could be scaled: it gets one while it is on paper
FIT = """<script>
if (!window.fitsPaper) {
    window.fitsPaper = true;
    const drawings = () => document.querySelectorAll(".js-plotly-plot .main-svg");
    addEventListener("beforeprint", () => drawings().forEach((drawing) => {
        drawing.setAttribute("viewBox", `0 0 ${drawing.getAttribute("width")} ${drawing.getAttribute("height")}`);
        drawing.setAttribute("preserveAspectRatio", "xMinYMid meet");
    }));
    addEventListener("afterprint", () => drawings().forEach((drawing) => {
        drawing.removeAttribute("viewBox");
        drawing.removeAttribute("preserveAspectRatio");
    }));
}
</script>"""

PRINT = "<script>setTimeout(() => window.print(), 300)</script>"
