# SPDX-License-Identifier: MIT
"""The service worker, which must come from the root to serve every page of this computer."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import FileResponse

from middlecut.web.render import STATIC

__all__ = ["router"]

router = APIRouter()


@router.get("/worker.js", response_class=FileResponse)
def worker() -> FileResponse:
    """Give the script that shows pages seen before when the server is not there."""
    return FileResponse(STATIC / "worker.js", media_type="text/javascript")
