# SPDX-License-Identifier: MIT
"""The web layer: pages over the record and the engine; nothing is computed here."""
