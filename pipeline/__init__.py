"""Sunrill: from the files of solar-irrigation sites to the figures and the visits that follow from them."""
