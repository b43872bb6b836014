# SPDX-License-Identifier: MIT
"""The steps layer."""
