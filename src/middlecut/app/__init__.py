# SPDX-License-Identifier: MIT
"""The app layer: the record of what was done, as pure decisions over events."""
