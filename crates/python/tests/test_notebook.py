"""The notebook runs from top to bottom and becomes a page."""

import nbformat
from nbclient import NotebookClient
from nbconvert import HTMLExporter

from conftest import ROOT

PATH = ROOT / "crates/python/notebooks/evening.ipynb"


def test_the_notebook_runs_and_is_rendered():
    notebook = nbformat.read(PATH, as_version=4)
    kept = [c for c in notebook.cells if c.cell_type == "code" and (c.outputs or c.execution_count)]
    assert not kept, "the notebook is kept without what it prints"
    notebook.cells.append(nbformat.v4.new_code_cell("print(accused)"))
    NotebookClient(notebook, timeout=120).execute()
    accused = notebook.cells.pop()
    printed = "".join(o.get("text", "") for c in notebook.cells if c.cell_type == "code" for o in c.outputs)
    assert printed.startswith("move "), printed
    # So many shots leave little to chance: the arrow that lands elsewhere is the one that is accused.
    assert accused.outputs[0]["text"].strip() == "['7']"
    body, _ = HTMLExporter().from_notebook_node(notebook)
    folder = ROOT / "build/notebook"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "evening.html").write_text(body)
    for piece in ("RenderedSVG", "every-three", "What the range captain says comes first", "extrapolated"):
        assert piece in body, piece
