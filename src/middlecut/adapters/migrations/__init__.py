# SPDX-License-Identifier: MIT
"""How the tables of a record became what they are, step by step."""
