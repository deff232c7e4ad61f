"""Campaigns: many random trials of one promise, each a command with a size and a seed.

Run ``python -m benchmarks.campaigns.NAME --size N --seed S [--json FILE]``. Each prints one
row of a markdown table. Small runs stand in ``tests/campaigns``.
"""
