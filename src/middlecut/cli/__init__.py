# SPDX-License-Identifier: MIT
"""The cli layer."""
