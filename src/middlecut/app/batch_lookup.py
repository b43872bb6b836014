# SPDX-License-Identifier: MIT
"""Find a batch in a record by its name or id, only reading."""

from __future__ import annotations

from middlecut.app.batch import Batch, evolve_all, fresh
from middlecut.app.ports import Store
from middlecut.app.states import batch_stream
from middlecut.errors import InputError, NotFoundError

__all__ = ["find_batch"]


def find_batch(store: Store, name: str) -> Batch:
    """Return a batch of a record.

    Parameters
    ----------
    store : Store
    name : str
        Its id, or its name where no other batch has the same.

    Returns
    -------
    batch : Batch

    Raises
    ------
    NotFoundError
        If there is none.
    InputError
        If several have that name.
    """
    ids = [stream.partition("/")[2] for stream in store.streams("batch")]
    batches = [evolve_all(fresh(one), store.read_stream(batch_stream(one))) for one in ids]
    for batch in batches:
        if batch.id == name:
            return batch
    found = [batch for batch in batches if batch.name == name]
    if not found:
        raise NotFoundError("batch", name, tuple(one.name for one in batches)[-3:])
    if len(found) > 1:
        raise InputError(
            "--batch",
            name,
            f"{len(found)} batches have that name",
            f"Name one by its id: {', '.join(one.id for one in found)}.",
        )
    return found[0]
