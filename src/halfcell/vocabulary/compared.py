"""Findings made by comparing and choosing.

Those without a unit here are in the unit of what they are about, which their condition names.
"""

from __future__ import annotations

from typing import Any

from halfcell.vocabulary.term import Term


def _t(name: str, label: str, meaning: str, unit: str = "1", better: str = "", **more: Any) -> Term:
    return Term(
        name=name, label=label, meaning=meaning, unit=unit, si=unit, better=better, place="Chooses", **more
    )


COMPARED: tuple[Term, ...] = (
    _t("group_mean", "Mean of the group", "Mean over the electrodes of a group of the finding that the condition names, in its unit.", unit=""),
    _t("mean_difference", "Difference of means", "Difference of two groups' means of the finding that the condition names, in its unit.", unit=""),
    _t("mean_ratio", "Ratio of means", "Ratio of two groups' means of the finding that the condition names."),
    _t("difference_shown", "Is a difference shown", "Whether two groups differ in the finding that the condition names: different, not shown to differ, or same within the stated margin; the value is the adjusted p.", word=True),
    _t("visible_difference", "Smallest visible difference", "The smallest true difference that these electrodes would have shown with a chance of 80 %, in the unit of the finding that the condition names.", unit="", better="lower"),
    _t("electrodes_needed", "Electrodes needed", "Electrodes a group with which the difference (or the stated margin) would be seen with a chance of 80 %."),
    _t("must_verdict", "Must", "Whether a candidate meets a must: passed, failed or undecided, by its interval.", word=True),
    _t("must_margin", "Distance from the limit", "Distance of a candidate's mean from the limit of a must, positive on the right side, in the finding's unit.", unit="", better="higher"),
    _t("desirability", "Desirability", "How much of what is wanted a candidate gives, 0 to 1: overall, or for the want that the condition names.", better="higher"),
    _t("desirability_difference", "Difference of desirability", "Desirability of the leader less that of another candidate, over the draws."),
    _t("probability_better", "Probability of being better", "Probability that the leader's desirability is higher than another candidate's."),
    _t("probability_best", "Probability of being best", "Probability of having the highest desirability among those that meet the musts.", better="higher"),
    _t("place", "Place", "Place in the ranking by desirability; 1 is best.", better="lower"),
    _t("not_dominated", "Not dominated", "Probability that no other candidate is at least as good in every want.", better="higher"),
    _t("electrodes_to_decide", "Further electrodes to decide", "Further electrodes with which an undecided must, or the lead, would be decided if means and scatter stay as they are."),
    _t("weight_turning_point", "Weight at which the lead changes", "The weight of the want that the condition names at which the candidate takes the lead, the other weights kept."),
)  # fmt: skip
