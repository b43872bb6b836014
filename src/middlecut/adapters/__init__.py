# SPDX-License-Identifier: MIT
"""The adapters layer: stores, clock and ids of the real world."""
