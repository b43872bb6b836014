# SPDX-License-Identifier: MIT
"""The liquid layer."""
