"""What a trial nut tells of its file, and the next nut made by it."""

from nutgen.bench.dryfit.trial import PLACES, TrialFit, trial_fit
from nutgen.nut import Nut, solve
from nutgen.spec.playing import Trial
from nutgen.spec.read import overruled
from nutgen.spec.tables import Spec


def tried(spec: Spec, nut: Nut, trial: Trial) -> TrialFit:
    """Work out the fret plane of a file, and the floors of its next nut, from a trial.

    nut    : as solved from the file
    trial  : the readings, one string at least with both
    raises : SpecFaults or CannotBeMade where no nut can be made on that plane
    """

    def remade(heights: tuple[float, ...]) -> Nut:
        plane = dict(zip(PLACES[len(heights)], heights, strict=True)) if len(heights) > 1 else heights[0]
        return solve(overruled(spec, {"seat": {"fret_plane": plane}}))

    own = next((way.error for way in spec.ways if way.key == "trial.relief"), None)
    return trial_fit(nut, trial, tools=spec.tools, errors=spec.errors, relief_error=own, remade=remade)
