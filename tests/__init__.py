"""Tests; a package, so that they can share what is made by hand."""
