"""How badly costs and class effects fit, and which way is better; levels are integrated out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .estimate import Spreads
from .filtering import Smoothed, smooth
from .problem import Problem
from .residuals import Residuals, residuals
from .ways import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Point:
    """The model at one choice of costs and class effects.

    Attributes
    ----------
    loss
        Minus the log of the joint density, but for what depends on neither.
    slope : (P + C,) floats
        Its gradient.
    told : Residuals
    left : (N,) floats
        V⁻¹(level − class effect): the smoothed errors over their variance.
    noise : (N,) floats
        Variance of each result's own error.
    trust : (N,) floats
        How far each result is believed.
    levels : Smoothed
        Members' log slowness given these costs and effects.
    """

    loss: float
    slope: Floats
    told: Residuals
    left: Floats
    noise: Floats
    trust: Floats
    levels: Smoothed


def noise_of(problem: Problem, spreads: Spreads, trust: Floats) -> Floats:
    """(N,) variance of the mean of each result's rows; ``trust`` (0, 1] widens it."""
    shared = spreads.noise**2 - spreads.noise_within**2
    return (shared + spreads.noise_within**2 / problem.per_result) / trust


def walk_levels(
    problem: Problem, spreads: Spreads, told: Floats, noise: Floats
) -> tuple[Smoothed, float]:
    """Smooth members' levels from what each result tells of them; the log likelihood of all."""
    states = len(problem.day)
    weight = np.bincount(problem.state, 1 / noise, minlength=states)
    mean = np.bincount(problem.state, told / noise, minlength=states) / weight
    apart = told - mean[problem.state]
    within = -0.5 * float(
        np.sum(np.log(2 * np.pi * noise) + apart**2 / noise) - np.sum(np.log(2 * np.pi / weight))
    )
    got = smooth(problem.walks, mean, 1 / weight, start=spreads.level**2, drift=spreads.drift**2)
    return got, got.log_likelihood + within


def point(
    problem: Problem,
    spreads: Spreads,
    trust: Floats,
    cost: Floats,
    effect: Floats,
    precision: Floats,
) -> Point:
    """Evaluate the model.

    Parameters
    ----------
    trust : (N,) floats in (0, 1]
        How far each result is believed; see ``trusting``.
    cost, effect
        Log seconds a rep (P,) and what is common to each class (C,).
    precision : (P, P) floats
        Of the prior of ``cost``.
    """
    fade = spreads.fade
    told = residuals(problem, cost, fade)
    noise = noise_of(problem, spreads, trust)
    error = told.level - effect[problem.class_]
    levels, likelihood = walk_levels(problem, spreads, error, noise)
    left = (error - levels.mean[problem.state]) / noise
    from_prior = precision @ (cost - problem.ways.base)
    loss = (
        -likelihood
        + 0.5 * float(effect @ effect) / spreads.classes**2
        + 0.5 * float((cost - problem.ways.base) @ from_prior)
    )
    by_cost = from_prior - fade * (told.level_shares.T @ left)
    by_effect = effect / spreads.classes**2 - np.bincount(
        problem.class_, left, minlength=problem.classes
    )
    if problem.has_splits:
        within = spreads.noise_within**2
        trusted = trust[problem.of_row] * told.shape
        loss += 0.5 * float(told.shape @ trusted) / within
        by_cost -= fade / within * (told.shares.T @ trusted)
    stopped = problem.stop >= 0
    if stopped.any():
        at = problem.stop[stopped]
        loss -= float(np.sum(cost[at]) - np.sum(told.log_work[stopped]))
        by_cost -= np.bincount(at, minlength=len(cost)) - told.shares.T @ stopped.astype(float)
    return Point(loss, np.concatenate([by_cost, by_effect]), told, left, noise, trust, levels)
