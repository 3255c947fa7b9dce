"""Settings that are a yes or a no."""

import pytest

from pipeline.config import Settings
from pipeline.errors import SunrillError


@pytest.mark.parametrize(("text", "value"), [("yes", True), ("no", False)])
def test_yes_and_no_are_the_words(text, value):
    """Nothing else is guessed to mean one of them."""
    assert Settings().changed("kc_in_climate", text).kc_in_climate is value


@pytest.mark.parametrize("text", ["1", "true", "", "Yes please"])
def test_another_word_is_refused_with_the_way_out(text):
    """The error names the setting and the two words."""
    with pytest.raises(SunrillError, match="neither yes nor no") as refused:
        Settings().changed("kc_in_climate", text)
    assert refused.value.fault.where == "kc_in_climate"
    assert refused.value.fault.mend == "Write yes or no."


def test_every_setting_is_printed_as_it_is_written():
    """What `sunrill settings` shows can be given back."""
    settings = Settings()
    for name in settings.as_parameters():
        assert settings.changed(name, settings.text_of(name)) == settings
