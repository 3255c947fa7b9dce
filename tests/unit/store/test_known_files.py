"""A file that comes a second time: unchanged, and the user is helped with what was not taken."""

BAD = "meter_id,read_at,value\nW1,2026-03-05 07:00,many\nW1,2026-03-06 07:00,\n"


def test_a_file_whose_rows_were_all_rejected_says_so_when_it_comes_again(stocked):
    """All its rows are unchanged; the sentence tells the day, an example of each rule, and the way out."""
    first = stocked.load_text("meter_readings_bad.csv", BAD, on="2026-03-21")
    assert stocked.fates(first) == {"meter_readings_bad.csv": {"rejected": 2}}
    assert first.notes == []
    report = stocked.load(stocked.folder / "meter_readings_bad.csv", on="2026-03-28")
    assert stocked.fates(report) == {"meter_readings_bad.csv": {"unchanged": 2}}
    (note,) = report.notes
    assert "2026-03-21" in note.what
    assert "2 of its 2 rows were rejected" in note.why
    assert '"many" was not taken' in note.why
    assert "line 3, column value" in note.why
    assert "a mended file is new" in note.mend


def test_the_mended_file_is_taken(stocked):
    """What the note promises."""
    stocked.load_text("meter_readings_bad.csv", BAD)
    report = stocked.load_text("meter_readings_bad.csv", BAD.replace("many", "160"))
    assert stocked.fates(report) == {"meter_readings_bad.csv": {"taken": 1, "rejected": 1}}
    assert report.notes == []


def test_a_copy_under_another_name_is_told_the_same(stocked):
    """The note bears the name under which the file comes now."""
    stocked.load_text("meter_readings_bad.csv", BAD)
    (note,) = stocked.load_text("meter_readings_copy.csv", BAD).notes
    assert note.where == "meter_readings_copy.csv"
    assert "meter_readings_bad" not in note.why


def test_rows_that_still_wait_are_told_of_until_their_parent_comes(stocked):
    """The late sheet has a reading of an unknown meter."""
    again = stocked.folder / "meter_readings_late.csv"
    (note,) = stocked.load(again).notes
    assert "1 of its rows still waits" in note.why
    stocked.load_text("meters_9.csv", "meter_id,site_id,quantity\nW9,S1,water\n")
    assert stocked.load(again).notes == []


def test_a_file_of_no_table_is_told_how_to_name_it(stocked):
    """Dropped twice, it still says that its name is the trouble."""
    stocked.load_text("pumps.csv", "pump\nP1\n")
    report = stocked.load(stocked.folder / "pumps.csv")
    assert "--table" in report.notes[0].mend


def test_a_file_that_was_taken_whole_needs_no_words(stocked):
    """Unchanged says it all."""
    assert stocked.load(stocked.folder / "sites.csv", stocked.folder / "meters.csv").notes == []
