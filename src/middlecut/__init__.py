# SPDX-License-Identifier: MIT
"""middlecut predicts a batch of flavoured spirit from wash to bottle."""
