"""The best margin of a block along a natural piece, as a chart."""

import numpy as np
from markupsafe import Markup

from nutgen.documents.charts.chart import chart_svg, panels
from nutgen.documents.words.quantities import MM_PER_INCH, Units
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece


def margin_svg(piece: Piece, answer: Answer, units: Units) -> Markup | None:
    """The best margin of a block whose middle lies at a place, place by place; None where that is not known."""
    run = answer.profile[np.isfinite(answer.profile).all(axis=1)] if len(answer.profile) else answer.profile
    if len(run) < 2:
        return None
    per = 1.0 if units == "mm" else MM_PER_INCH
    title = f"Best margin along the piece, {units}; the dot is the place that was chosen"
    figure, (axes,) = panels([150.0], about=title)
    bottom, top = min(0.0, float(run[:, 1].min())), max(0.5, float(run[:, 1].max()))
    bottom = max(bottom, -max(2.0, 2.0 * top))  # far below nothing all places are alike
    axes.set_xlim(0.0, piece.length / per)
    axes.set_ylim(1.05 * bottom / per, 1.08 * top / per)
    axes.grid(axis="y", color="0.88")
    axes.axhline(0.0, color="black", linewidth=0.8)
    axes.plot(run[:, 0] / per, np.maximum(run[:, 1], bottom) / per, color="black", gid="best-margin")
    chosen = np.array([(laid.pose.at[0], laid.margin) for laid in answer.laid]).reshape(-1, 2) / per
    axes.plot(chosen[:, 0], chosen[:, 1], "o", color="#7a3b12", gid="chosen")
    axes.set_xlabel(f"middle of the block, {units} from first end", fontsize=8.0, loc="right", labelpad=0.0)
    return Markup(chart_svg(figure, title=title, about=title, name="margin").decode())
