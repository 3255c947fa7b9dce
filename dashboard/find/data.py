"""What is asked to find something by part of its name: a question for each kind, within the viewer's scope."""

import re
from collections.abc import Mapping
from typing import Any

import streamlit as st

from dashboard import data
from dashboard.access import Viewer
from dashboard.data import IN_SCOPE, Rows
from dashboard.files import data as files_data

MOST = 10  # of a kind on the page
MOST_LETTERS, MOST_WORDS = 100, 8  # of what is looked for
TELEPHONE = re.compile(r"[+0-9 ()./-]+")
LEAST_DIGITS = 4  # of a telephone number
# in how many places a word may be mistyped: a short one, and a number or an id, in none
PLACES = "CASE WHEN regexp_matches(typed, '[0-9]') OR length(typed) < 4 THEN 0 WHEN length(typed) < 8 THEN 1 ELSE 2 END"

# Where each kind's texts stand. text: what is matched; field: what it is there; key and more: of whom or what; since: a
# day to tell and to sort by. A person stands once for each site and part, times: on how many rows.
NAMES = """
    SELECT site_id, 'contact' AS field, name AS text, name AS key, role AS more, phone, consent_on AS since FROM contacts
    UNION ALL BY NAME SELECT site_id, 'technician' AS field, technician AS text, technician AS key, max(reported_day) AS since, count(*) AS times FROM maintenance GROUP BY ALL
    UNION ALL BY NAME SELECT site_id, 'surveyor' AS field, surveyor AS text, surveyor AS key, max(surveyed_on) AS since, count(*) AS times FROM surveys GROUP BY ALL
    UNION ALL BY NAME SELECT about AS site_id, 'writer' AS field, who AS text, who AS key, max(decided_day) AS since, count(*) AS times FROM decisions GROUP BY ALL"""
TEXTS: Mapping[str, str] = {
    "sites": """
    SELECT site_id, 'site' AS field, name AS text, site_id AS key, NULL AS more, commissioned_on AS since FROM sites
    UNION ALL BY NAME SELECT site_id, 'site' AS field, site_id AS text, site_id AS key FROM sites
    UNION ALL BY NAME SELECT site_id, 'site' AS field, alias AS text, site_id AS key, alias FROM site_aliases""",
    "people": f"""{NAMES}
    UNION ALL BY NAME SELECT site_id, 'contact' AS field, phone AS text, name AS key, role AS more, phone, consent_on AS since, regexp_replace(phone, '[^0-9]', '', 'g') AS digits FROM contacts
    UNION ALL BY NAME SELECT site_id, 'crew' AS field, crew_id AS text, crew_id AS key, max(arrived_day) AS since, count(*) AS times FROM visit_outcomes GROUP BY ALL""",  # noqa: S608 - our own texts
    "meters": "SELECT site_id, quantity || '_meter' AS field, meter_id AS text, meter_id AS key, block_id AS more, installed_on AS since, removed_on AS until FROM meters",
    "components": "SELECT site_id, 'component' AS field, serial AS text, serial AS key, component AS more, installed_on AS since, removed_on AS until FROM components",
    "records": """
    SELECT site_id, 'job' AS field, record_id AS text, record_id AS key, kind AS more, reported_day AS since, restored_day AS until FROM maintenance
    UNION ALL BY NAME SELECT site_id, 'survey' AS field, survey_id AS text, survey_id AS key, surveyed_on AS since FROM surveys""",
    "files": "SELECT NULL::VARCHAR AS site_id, 'file' AS field, unnest($files) AS text, unnest($ids) AS key, NULL AS more, unnest($came) AS since",
    "agreements": f"""
    SELECT min(site_id) AS site_id, 'agreement' AS field, unnest([agreement_id, title, funder]) AS text, agreement_id AS key,
           title AS more, funder, start_on AS since, end_on AS until, count(*) AS times
    FROM agreements JOIN agreement_sites USING (agreement_id) WHERE {IN_SCOPE} GROUP BY agreement_id, title, funder, start_on, end_on""",  # noqa: S608 - our own texts
    "districts": f"""
    SELECT min(site_id) AS site_id, 'district' AS field, district AS text, district AS key, NULL AS more, NULL AS since, count(*) AS times
    FROM sites WHERE {IN_SCOPE} GROUP BY district""",  # noqa: S608 - our own texts
}  # fmt: skip


def folded(text: str) -> str:
    """Return SQL of a text without case and accents.

    >>> folded("$text")
    'lower(strip_accents($text))'
    """
    return f"lower(strip_accents({text}))"


# the texts that hold every word; nearest is what is written so, then what begins so, then what a word of it begins so
MATCHES = f"""
    WITH texts AS (SELECT *, {folded("text")} AS folded FROM ({{texts}}) WHERE {IN_SCOPE}),
    near AS (
        SELECT *, CASE WHEN folded = {folded("$text")} THEN 0 WHEN starts_with(folded, {folded("$text")}) THEN 1
                       WHEN contains(' ' || folded, ' ' || {folded("$text")}) THEN 2 ELSE 3 END AS nearness
        FROM texts WHERE {{holds}}
        QUALIFY row_number() OVER (PARTITION BY site_id, field, key, more ORDER BY nearness) = 1
    )
    SELECT n.* EXCLUDE (folded), s.name, s.district, (SELECT count(*) FROM near) AS found
    FROM near n LEFT JOIN sites s USING (site_id)
    ORDER BY nearness, field <> 'contact', since DESC NULLS LAST, text, site_id LIMIT {MOST}"""  # noqa: S608 - our own texts

# of each word the one in a name that differs from it in the fewest places, of those the likest, then the most frequent
SPELLED = f"""
    WITH names AS (
        SELECT site_id, name AS text FROM sites UNION ALL SELECT site_id, district FROM sites
        UNION ALL SELECT site_id, text FROM ({NAMES})
        UNION ALL SELECT site_id, unnest([title, funder]) FROM agreements JOIN agreement_sites USING (agreement_id)
    ),
    once AS (SELECT {folded("text")} AS text, count(*) AS times FROM names WHERE {IN_SCOPE} GROUP BY ALL),
    written AS (SELECT word, sum(times) AS times FROM (SELECT unnest(string_split(text, ' ')) AS word, times FROM once) GROUP BY ALL),
    asked AS (SELECT typed, {folded("typed")} AS folded, {PLACES} AS places FROM (SELECT unnest($words) AS typed)),
    near AS (
        SELECT typed, folded, word, times, contains(word, folded) AS holds, damerau_levenshtein(word, folded) AS wrong
        FROM asked JOIN written ON contains(word, folded)
          OR (abs(length(word) - length(folded)) <= places AND damerau_levenshtein(word, folded) <= places)
    )
    SELECT typed, if(holds, typed, word) AS meant FROM near
    QUALIFY row_number() OVER (PARTITION BY typed ORDER BY holds DESC, wrong, jaro_winkler_similarity(word, folded) DESC, times DESC, word) = 1"""  # noqa: S608 - the same


@st.cache_data(show_spinner=False, max_entries=50)
def find(version: int, viewer: Viewer, text: str) -> dict[str, Rows]:
    """Return what matches a text, by kind, the kind with the nearest match first.

    Parameters
    ----------
    text
        On one line: all its words are in what is found, whatever their case and accents.

    Returns
    -------
    dict
        By kind, none of them empty, at most `MOST` rows: field, text, key, more, since and what else the kind has
        in `TEXTS`; site_id, name and district of the site; nearness: 0 is written so; found: how many there are.
    """
    found = {kind: _matches(kind, version, viewer, text) for kind in TEXTS} if version and text else {}
    nearest = sorted((rows[0]["nearness"], n, kind) for n, (kind, rows) in enumerate(found.items()) if rows)
    return {kind: found[kind] for _, _, kind in nearest}


def _matches(kind: str, version: int, viewer: Viewer, text: str) -> Rows:
    words = text.split()[:MOST_WORDS]
    holds = " AND ".join(f"contains(folded, {folded(f'$word{n}')})" for n in range(len(words)))
    more: dict[str, Any] = {f"word{n}": word for n, word in enumerate(words)}
    # a number is written with its country's code, and typed with a nought in its place
    digits = re.sub(r"[^0-9]", "", text).lstrip("0")
    if kind == "people" and TELEPHONE.fullmatch(text) and len(digits) >= LEAST_DIGITS:
        holds, more = f"({holds} OR contains(digits, $digits))", more | {"digits": digits}
    if kind == "files":
        more |= _files(files_data.files(version, viewer))
    holds += f" AND {folded('$text')} <> ''"  # of nothing but accents nothing is left, which every text holds
    return data.ask(MATCHES.format(texts=TEXTS[kind], holds=holds), version, viewer, text=text, **more)


def _files(rows: Rows) -> dict[str, list[str]]:
    names = {"files": "file", "ids": "id", "came": "came_at"}
    return {name: [row[column] for row in rows] for name, column in names.items()}


@st.cache_data(show_spinner=False, max_entries=50)
def spelled(version: int, viewer: Viewer, text: str) -> str | None:
    """Return a text with its mistyped words as names within the scope are written; None: nothing is like it."""
    words = text.split()[:MOST_WORDS]
    rows = data.ask(SPELLED, version, viewer, words=words) if version and words else []
    meant = {row["typed"]: row["meant"] for row in rows}
    mended = [meant.get(word, word) for word in words]
    return None if mended == words else " ".join(mended)
