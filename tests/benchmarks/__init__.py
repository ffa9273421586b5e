"""Benchmarks, run by hand: how long planning takes, and how much of it is proven."""
