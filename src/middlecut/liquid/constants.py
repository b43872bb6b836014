# SPDX-License-Identifier: MIT
"""Constants of nature that more than one model of this layer uses."""

from __future__ import annotations

__all__ = ["GAS_CONSTANT"]

GAS_CONSTANT = 8.314462618
"""Molar gas constant, CODATA 2018 (exact). [J mol⁻¹ K⁻¹]"""
