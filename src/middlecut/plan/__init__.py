# SPDX-License-Identifier: MIT
"""The plan layer."""
