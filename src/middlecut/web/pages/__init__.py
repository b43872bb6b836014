# SPDX-License-Identifier: MIT
"""One module per page, each with a ``router`` and, for the main menu, a ``MENU`` entry."""
