# SPDX-License-Identifier: MIT
"""What a page shows: the record and the plan put side by side, by pure functions."""
