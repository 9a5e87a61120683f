"""Variance components and predicted arrow effects of linear mixed models -> ../refs/fleet_mixed.json

What:     places of one axis in mrad, shot by numbered arrows in ends and sessions: variance of a shot, between arrows and
          between ends, by restricted maximum likelihood, and the predicted offset (BLUP) of every arrow.
Method:   statsmodels MixedLM: dense per-group covariance matrices and a quasi-Newton search over the Cholesky factors, started from
          its defaults, the best of three methods; arrows and ends crossed through vc_formula in one group. Goldward absorbs ends and profiles two ratios.
Source:   the places are invented here (numpy default_rng, fixed seeds).
Command:  OMP_NUM_THREADS=1 python crates/checks/scripts/fleet_mixed.py
"""

import time
import warnings

import numpy as np
import pandas as pd
import statsmodels.formula.api as smf

from refs_io import write

warnings.filterwarnings("ignore")


def shots(seed, arrows, ends_by_session, per_end, sd_arrow, sd_end, bad=None):
    """Ends of `per_end` arrows, dealt in turn from the fleet; places rounded to 0.001 mrad."""
    rng = np.random.default_rng(seed)
    offset = rng.normal(0, sd_arrow, arrows)
    if bad is not None:
        offset[bad] += 1.5
    rows, end, dealt = [], 0, 0
    for session, ends in enumerate(ends_by_session):
        centre = rng.normal(0, 2)
        for _ in range(ends):
            shift = rng.normal(0, sd_end)
            for _ in range(per_end):
                arrow = dealt % arrows
                dealt += 1 if rng.uniform() < 0.9 else 2
                rows.append((session, end, arrow, round(centre + shift + offset[arrow] + rng.normal(0, 1.4), 3)))
            end += 1
    return pd.DataFrame(rows, columns=["session", "end", "arrow", "y"])


def fixed(data):
    return "y ~ C(session)" if data.session.nunique() > 1 else "y ~ 1"


def best(model):
    """The best of three searches: any of them may stop early, L-BFGS even at an infinite likelihood on the boundary."""
    fits = [model.fit(reml=True, method=method, maxiter=5000) for method in ("bfgs", "powell", "nm")]
    return max((f for f in fits if np.isfinite(f.llf)), key=lambda f: f.llf)


def fit_arrows(data):
    return best(smf.mixedlm(fixed(data), data, groups=data["arrow"]))


def arrows_only(name, data):
    fit = fit_arrows(data)
    effects = [float(fit.random_effects[a].iloc[0]) for a in sorted(data.arrow.unique())]
    return case(name, data, fit.scale, float(fit.cov_re.iloc[0, 0]), 0.0, effects, fit.llf)


def crossed(name, data):
    data = data.assign(one=1)
    vc = {"arrow": "0 + C(arrow)", "end": "0 + C(end)"}
    fit = best(smf.mixedlm(fixed(data), data, groups="one", vc_formula=vc))
    names = fit.model.exog_vc.names
    components = dict(zip(names, fit.vcomp))
    re = fit.random_effects[1]
    effects = [float(re[f"arrow[C(arrow)[{a}]]"]) for a in sorted(data.arrow.unique())]
    return case(name, data, fit.scale, components["arrow"], components["end"], effects, fit.llf)


def case(name, data, within, between, ends, effects, llf):
    session_of_end = data.groupby("end").session.first().tolist()
    print(name, within, between, ends)
    return {
        "name": name,
        "places_mrad": data.y.tolist(),
        "arrow": data.arrow.tolist(),
        "end": data.end.tolist(),
        "session_of_end": session_of_end,
        "within_mrad2": within,
        "between_mrad2": between,
        "ends_mrad2": ends,
        "arrow_effects_mrad": effects,
        "log_likelihood": llf,
    }


def one_end_a_session(data):
    """The same shots without ends: each session is one."""
    return data.assign(end=data.session)


def timing(each):
    data = shots(99, 12, [each * 2], 6, 0.3, 0.0)
    model = smf.mixedlm(fixed(data), data, groups=data["arrow"])
    begun = time.perf_counter()
    model.fit(reml=True, method="bfgs")
    return {"arrows": 12, "shots": len(data), "seconds": time.perf_counter() - begun}


def main():
    cases = [
        arrows_only("eight_arrows", one_end_a_session(shots(7, 8, [24], 6, 0.8, 0.0))),
        arrows_only("twelve_arrows_three_sessions", one_end_a_session(shots(2, 12, [12, 9, 15], 6, 0.4, 0.0, bad=6))),
        arrows_only("few_shots", one_end_a_session(shots(3, 6, [4, 3], 6, 1.5, 0.0))),
        crossed("ends_that_wander", shots(4, 10, [24], 5, 0.5, 0.7)),
        crossed("ends_and_sessions", shots(5, 12, [10, 14], 6, 0.4, 0.5, bad=3)),
        crossed("short_ends", shots(6, 9, [30, 20], 3, 0.6, 0.9)),
    ]
    write(
        "fleet_mixed.json",
        {
            "source": "invented shots; fits by statsmodels 0.15.0 MixedLM, REML",
            "method": "dense covariance matrices, quasi-Newton search",
            "command": "OMP_NUM_THREADS=1 python crates/checks/scripts/fleet_mixed.py",
            "precision": "components to about 1e-5 relative (its search stops on the gradient), effects to 1e-5 mrad",
            "cases": cases,
            "timing": [timing(417), timing(5000)],
        },
    )


if __name__ == "__main__":
    main()
