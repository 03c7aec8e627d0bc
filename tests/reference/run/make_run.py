"""Statistics of short runs by scipy and statsmodels, for tests/suite/run_course.rs.

Shares no code with the core. Slopes and their probabilities come from scipy.stats.linregress,
steps from scipy.stats.ttest_ind, means from scipy.stats.ttest_1samp, the choice between a drift and
a step from the AIC of two statsmodels OLS fits, tolerance factors from a double integral over the
mean and the standard deviation by scipy.integrate (not by the formula in the core), intervals of a
centred index from scipy.stats.chi2.

    python make_run.py          writes run.json

Needs numpy, scipy and statsmodels. The seed is fixed; the file is committed beside this script.
"""

import json
import os

import numpy as np
import statsmodels.api as sm
from scipy import integrate, optimize, stats

HERE = os.path.dirname(os.path.abspath(__file__))
rng = np.random.default_rng(20261127)


def runs(count):
    out = []
    for k in range(count):
        n = int(rng.integers(5, 25))
        places = np.sort(rng.choice(np.arange(1, 31), size=n, replace=False)).astype(float)
        kind = k % 4
        values = rng.normal(0.0, 0.3, n)
        cut = int(rng.integers(2, n - 1))
        after = np.arange(n) >= cut
        if kind == 1:
            values += 0.08 * places
        if kind == 2:
            values += np.where(after, rng.choice([-1, 1]) * rng.uniform(0.4, 1.5), 0.0)
        if kind == 3:
            # What happened need not part the run in one place.
            after = rng.random(n) < 0.5
            after[:2], after[-2:] = False, True
            values += np.where(after, 0.5, 0.0)
        values = np.round(values, 3)
        line = stats.linregress(places, values)
        step = stats.ttest_ind(values[after], values[~after])
        one = stats.ttest_1samp(values, 0.0)
        half = stats.t.ppf(0.975, n - 1) * stats.sem(values)
        fit_line = sm.OLS(values, sm.add_constant(places)).fit()
        fit_step = sm.OLS(values, sm.add_constant(after.astype(float))).fit()
        out.append(
            {
                "places": places.tolist(),
                "values": values.tolist(),
                "after": after.tolist(),
                "slope": line.slope,
                "slope_by_chance": line.pvalue,
                "step": values[after].mean() - values[~after].mean(),
                "step_by_chance": step.pvalue,
                "mean": values.mean(),
                "half": half,
                "mean_by_chance": one.pvalue,
                # Positive: the step explains it better.
                "aic_line_less_step": fit_line.aic - fit_step.aic,
            }
        )
    return out


def tolerance(n, share, sure):
    """The factor k with P(content of mean ± k s >= share) = sure, by a double integral."""
    f = n - 1

    def covered(k):
        def inner(z):
            # Content as a function of s grows: the least s that covers enough.
            content = lambda s: stats.norm.cdf(z + k * s) - stats.norm.cdf(z - k * s) - share
            if content(50.0) < 0:
                return 0.0
            least = optimize.brentq(content, 1e-9, 50.0, xtol=1e-13)
            return stats.chi2.sf(f * least**2, f) * stats.norm.pdf(z, 0, 1 / np.sqrt(n))

        top = 8 / np.sqrt(n)
        return integrate.quad(inner, -top, top, epsabs=1e-11, epsrel=1e-10, limit=200)[0]

    return optimize.brentq(lambda k: covered(k) - sure, 0.5, 60.0, xtol=1e-10)


def centred(index, n):
    f = n - 1
    return [index * np.sqrt(stats.chi2.ppf(p, f) / f) for p in (0.025, 0.975)]


def main():
    factors = [
        {"n": n, "share": share, "sure": sure, "factor": tolerance(n, share, sure)}
        for n in (5, 6, 9, 14, 22)
        for share, sure in ((0.95, 0.95), (0.9, 0.99), (0.99, 0.9))
    ]
    intervals = [
        {"index": index, "n": n, "interval": centred(index, n)}
        for index in (0.5, 1.0, 1.33, 2.0)
        for n in (5, 12, 24)
    ]
    with open(os.path.join(HERE, "run.json"), "w") as out:
        json.dump({"runs": runs(80), "tolerance": factors, "centred": intervals}, out, separators=(",", ":"))
        out.write("\n")


main()
