# SPDX-License-Identifier: MIT
"""From what was tasted to its likely cause in this batch, and to the change that mends it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from middlecut.errors import InputError
from middlecut.insight.case import Case, chosen_lot, make_case
from middlecut.insight.clouding import FACTOR
from middlecut.insight.diagnosis import Cause, Diagnosis, Evidence, Remedy, Score
from middlecut.insight.evidence import gather, together
from middlecut.insight.off_flavours import Fault, faults
from middlecut.insight.remedy_effects import (
    Workbench,
    dissolved_share,
    remedies_for,
    wanted_compounds,
)
from middlecut.insight.tasting import how_read, read_found
from middlecut.insight.too_much import STRONG, too_much
from middlecut.insight.vocabulary import compound_descriptors, find_descriptor
from middlecut.insight.wording import signed, times
from middlecut.plan.predict import predict

if TYPE_CHECKING:
    from middlecut.insight.odour import OdourRow
    from middlecut.insight.readings import Reading
    from middlecut.plan.model import Plan
    from middlecut.plan.prediction import Prediction

__all__ = ["diagnose", "table_fit"]

PREDICTION, EVIDENCE = 0.2, 0.3
"""What prediction and evidence add to, or take from, a half; our choice."""
LATER_WORD = 0.2
"""How much less a fault's second word fits than its first, and so on; our choice."""
MOST_CAUSES = 8
LEAST_SCORE = 0.1
"""Causes below it are left out, but for the first; our choice."""
HALF = 2.0
"""Intensity at which a word counts half; our choice."""
BY_COMPOUND = 0.7
BY_FAMILY = 0.3
WEAK = 4.0
"""Intensity from which a note is there, so that it cannot be the one that was lost; our choice."""
USUAL_ONLY = " That is the usual level: this cause itself is not predicted."
CLEAR = (
    "The words fit, but these oils and esters are predicted to stay dissolved. Fats, waxes, "
    "tannins and the minerals of hard water cloud a spirit too and are not predicted."
)
CONTRADICTED = 0.35
"""Fit of the words from which a low prediction is called a disagreement."""
NOTES = (
    (
        "The score ranks causes; it is no probability. It is the fit of the words times a half, "
        "to which the prediction adds or takes up to 0.2 and the evidence up to 0.3. The weights "
        "are our own."
    ),
    (
        "Causes the table does not name exist, and so do two faults at once. Smell the jars one by "
        "one, and the ingredients by themselves, before a batch is changed."
    ),
    (
        "A smell of the solvent of paint, of almond from stone fruit, or one that makes eyes water "
        "can come with harmful compounds: do not drink it to find out. middlecut cannot say that a "
        "spirit is safe."
    ),
)


def diagnose(
    plan: Plan,
    descriptors: str | Mapping[str, float],
    *,
    readings: Mapping[str, Iterable[Reading]] | None = None,
    prediction: Prediction | None = None,
    lot: str | None = None,
) -> Diagnosis:
    """Rank the likely causes of what was tasted, and predict what would mend it.

    Score = fit × (0.5 + 0.2 prediction + 0.3 evidence). The fit is 1 − Π(1 − m·I/(I+2))
    over the descriptors found, with intensity I and match m (1, 0.8 or 0.6 for the fault's own
    words, 0.7 for a word of a responsible compound, 0.3 for the family). The prediction is the mean
    of (OAV − 1)/(OAV + 1) over low, typical and high summed odour activity value; of a fault of
    clouding, the same of what is dissolved over what can be.

    Parameters
    ----------
    plan : Plan
        As it was made.
    descriptors : str or mapping of str to float
        ``"green bell pepper:3, bitter:2"``, or descriptor to intensity, 0 to 10.
    readings : mapping of str to iterable of Reading, optional
        By the id of their step.
    prediction : Prediction, optional
        Of this plan, if it is there already; what is shown is compared with its typical values.
    lot : str, optional
        What was tasted; None: what the plan bottles, else what it makes last.

    Returns
    -------
    Diagnosis
        Causes with evidence for and against, and remedies with their effect.

    Raises
    ------
    NotFoundError
        If a descriptor, the lot or the step of a reading is not known; with near names.
    InputError
        If an intensity is no number from 0 to 10, or nothing was found.
    PlanError
        If the plan cannot be predicted.

    Notes
    -----
    A low prediction speaks against a cause only where the model follows that cause: infection,
    scorching and storage are not predicted. Weights of evidence are estimates.

    References
    ----------
    .. [1] :cite:t:`belitz2009`, odour activity values.

    Examples
    --------
    >>> import middlecut as mc
    >>> found = mc.diagnose(mc.load_plan(mc.example_path()), "nail varnish: 5")
    >>> found.causes[0].compounds, found.remedies[0].verdict
    (('ethyl acetate',), 'helps')
    """
    found = read_found(descriptors)
    if not any(found.values()) and not any(table_fit(one, found)[0] for one in faults()):
        raise InputError("descriptors", "all 0", "something has to be found", "Give one above 0.")
    whole = predict(plan) if prediction is None else prediction
    case = make_case(plan, whole, chosen_lot(whole, lot), readings)
    ranked = sorted(
        (_cause(case, fault, found) for fault in (*faults(), *too_much(case, found))),
        key=lambda pair: (-pair[1].score.total, pair[1].fault),
    )
    fitting = [pair for pair in ranked if pair[1].score.table > 0.0]
    likely = [pair for pair in fitting if pair[1].score.total >= LEAST_SCORE]
    chosen = (likely or fitting[:1])[:MOST_CAUSES]
    bench = Workbench(
        case, wanted_compounds(case, [word for word, value in found.items() if value])
    )
    causes, number = [], 0
    for fault, cause in chosen:
        remedies = []
        for remedy in remedies_for(bench, fault):
            can = remedy.verdict != "cannot be done"
            number += can
            remedies.append(replace(remedy, number=number if can else 0))
        doubt = f"{cause.disagreement} {_fails(remedies)}".strip()
        causes.append(replace(cause, remedies=tuple(remedies), disagreement=doubt))
    return Diagnosis(
        lot=case.lot.name,
        found=dict(found),
        causes=tuple(causes),
        disagreements=tuple(_unexplained(case, [fault for fault, _ in chosen], found)),
        notes=NOTES,
        read=how_read(descriptors),
    )


def table_fit(fault: Fault, found: Mapping[str, float]) -> tuple[float, tuple[str, ...]]:
    """Return how well a fault fits what was found, and the words that fit.

    Parameters
    ----------
    fault : Fault
        One row of the table.
    found : mapping of str to float
        Descriptor to intensity, 0 to 10.

    Returns
    -------
    fit : float
        0 to 1.
    words : tuple of str
        Descriptors that fit, the best first.

    Notes
    -----
    A note that was found cannot be the one that was lost: of a lost flavour its own notes count the
    more the weaker they are, not at all from an intensity of 4, and what is called thin counts only
    while none of its notes is that strong, or another of them is weak.
    """
    weights = {word: _match(fault, word) * value / (value + HALF) for word, value in found.items()}
    if fault.lost:
        weights = _missed(fault, found, weights)
    fit = 1.0 - math.prod(1.0 - weight for weight in weights.values())
    words = sorted((word for word in weights if weights[word] > 0.0), key=lambda w: -weights[w])
    return fit, tuple(words)


def _missed(
    fault: Fault, found: Mapping[str, float], weights: Mapping[str, float]
) -> dict[str, float]:
    """Return how well each word fits a flavour that was lost."""
    notes = {word for word in fault.descriptors if find_descriptor(word).sense == "smell"}
    named = {word: value for word, value in found.items() if word in notes}
    if named and min(named.values()) >= WEAK:
        return dict.fromkeys(found, 0.0)
    return {
        word: _match(fault, word) * max(1.0 - value / WEAK, 0.0)
        if word in named
        else weights[word] * (word in fault.descriptors)
        for word, value in found.items()
    }


def _match(fault: Fault, word: str) -> float:
    if word in fault.descriptors:
        return 1.0 - LATER_WORD * min(fault.descriptors.index(word), 2)
    # What a compound smells of in the third place is not what a fault of it is known by.
    of_compounds = {one.name for name in fault.compounds for one in compound_descriptors(name)[:2]}
    if word in of_compounds:
        return BY_COMPOUND
    family = find_descriptor(word).family
    named = {find_descriptor(one).family for one in fault.descriptors[:1]}
    return BY_FAMILY if family in named and family not in {"taste", "mouthfeel"} else 0.0


def _cause(case: Case, fault: Fault, found: Mapping[str, float]) -> tuple[Fault, Cause]:
    fit, words = table_fit(fault, found)
    rows = [case.odours[name] for name in fault.compounds if name in case.odours]
    if fault.clouds:
        predicted, text = _clouds(case, fault)
    elif fault.lost:
        predicted, text = _kept([case.odours[name] for name in fault.lost if name in case.odours])
    else:
        predicted, text = _predicted(fault, rows)
    evidence = gather(case, fault) if fit > 0.0 else ()
    weighed = together(evidence)
    total = fit * (0.5 + PREDICTION * predicted + EVIDENCE * weighed)
    return fault, Cause(
        fault=fault.name,
        words=fault.words,
        cause=fault.cause,
        stage=fault.stage,
        compounds=fault.compounds,
        matched=words,
        score=Score(fit, predicted, weighed, total),
        evidence=evidence,
        prediction=text,
        disagreement=_disagreement(
            fault, fit=fit, predicted=predicted, rows=rows, evidence=evidence
        ),
        remedies=(),
        advice=fault.advice,
        sign=fault.sign,
        source=fault.source,
        basis=fault.basis,
        danger=fault.danger,
        wanted=fault.wanted,
    )


def _predicted(fault: Fault, rows: list[OdourRow]) -> tuple[float, str]:
    """Return what the odour activity values come to, −1 to 1, and in words."""
    if not rows:
        names = ", ".join(fault.compounds) or fault.other_compounds or "what is responsible"
        return 0.0, f"Not predicted here: {names}."
    sums = [math.fsum(getattr(row, end) for row in rows) for end in ("oav_low", "oav", "oav_high")]
    value = math.fsum((one - 1.0) / (one + 1.0) for one in sums) / 3.0
    top = max(rows, key=lambda row: row.oav)
    if sums[2] < 0.01:
        text = f"{top.compound} stays below a hundredth of its threshold."
        return (value if fault.followed else 0.0), text + ("" if fault.followed else USUAL_ONLY)
    text = (
        f"{top.compound} at {times(top.oav)} its threshold ({times(top.oav_low)} to "
        f"{times(top.oav_high)}), {top.verdict}"
    )
    text += f"; {len(rows)} compounds together {times(sums[1])}." if len(rows) > 1 else "."
    if not fault.followed:
        text += USUAL_ONLY
        value = max(value, 0.0)
    return value, text


def _kept(rows: list[OdourRow]) -> tuple[float, str]:
    """Return what speaks against a loss, −1 to 0: how much is predicted to be there still."""
    if not rows:
        return 0.0, "None of what would be missed is predicted to be there."
    top = max(rows, key=lambda row: row.oav)
    ends = (top.oav_low, top.oav, top.oav_high)
    value = -math.fsum((one - 1.0) / (one + 1.0) for one in ends) / 3.0
    text = (
        f"{top.compound} is predicted to be there still, at {times(top.oav)} its threshold "
        f"({times(top.oav_low)} to {times(top.oav_high)})."
    )
    return min(value, 0.0), text


def _clouds(case: Case, fault: Fault) -> tuple[float, str]:
    """Return how near the responsible oils come to clouding, −1 to 1, and in words."""
    mine = dissolved_share(case.lot, fault.compounds)
    ends = (mine / FACTOR, mine, mine * FACTOR)
    value = math.fsum((one - 1.0) / (one + 1.0) for one in ends) / 3.0
    names = ", ".join(fault.compounds)
    return value, f"{names} reach {mine:.2g} of what dissolves, within a factor {FACTOR:g}."


def _disagreement(
    fault: Fault,
    *,
    fit: float,
    predicted: float,
    rows: list[OdourRow],
    evidence: Iterable[Evidence],
) -> str:
    if fit < CONTRADICTED or not fault.followed:
        return ""
    if fault.clouds:
        return CLEAR if predicted <= -0.5 else ""
    high = math.fsum(row.oav_high for row in rows)
    if rows and high < 1.0:
        return (
            f"The words fit, but the prediction keeps {', '.join(row.compound for row in rows)} at "
            f"{times(high)} the threshold at most. Either this is not the cause, or something "
            "happened that the plan does not say."
        )
    brought = any(one.weight > 0.0 for one in evidence)
    if not rows and fault.compounds and not brought:
        return (
            f"The words fit, but nothing in this plan is predicted to bring "
            f"{', '.join(fault.compounds)}: the table stands alone here."
        )
    return ""


def _fails(remedies: Iterable[Remedy]) -> str:
    """Say which usual changes do nothing for the responsible compounds here."""
    failing = [one for one in remedies if one.verdict in {"hardly helps", "makes it worse"}]
    if not failing:
        return ""
    shown = ", ".join(f"{one.number} ({signed(one.change or 0.0)})" for one in failing)
    return f"Usual advice that the prediction does not bear out in this batch: remedy {shown}."


def _unexplained(case: Case, causes: Iterable[Fault], found: Mapping[str, float]) -> Iterable[str]:
    """Say which words only the prediction explains, and which neither does."""
    causes = tuple(causes)
    named = {name for cause in causes for name in cause.compounds}
    exact = {word for cause in causes for word in found if _match(cause, word) > BY_FAMILY}
    for word, value in found.items():
        if value == 0.0:
            continue
        rows = [row for row in case.odours.values() if word in row.descriptors[:2]]
        rows = [row for row in rows if row.oav_high >= 1.0]
        new = sorted((row for row in rows if row.compound not in named), key=lambda row: -row.oav)
        if new:
            shown = ", ".join(f"{row.compound} at {times(row.oav)}" for row in new[:3])
            yield (
                f"{word}: the prediction holds compounds that smell of it and that no cause above "
                f"names: {shown} its threshold. It may be no fault but what this spirit smells of."
            )
        elif not rows and word not in exact:
            yield f"{word}: neither the table nor the prediction says where it comes from."
        elif not rows and value >= STRONG and find_descriptor(word).sense == "smell":
            yield (
                f"{word}: nothing in this batch is predicted to bring it at a level that can be "
                "noticed. Something may have gone in that the plan does not say, or it comes from "
                "what is not followed here."
            )
