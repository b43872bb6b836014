# SPDX-License-Identifier: MIT
"""What readings, draws and tastings say beyond the plain prediction."""
