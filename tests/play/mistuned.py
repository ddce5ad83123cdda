"""Instruments out of tune by known faults: strings as polylines, bad ones by the eigenfrequencies of uneven wire."""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import eigh_tridiagonal

from nutgen.nut import Nut
from nutgen.nut.heights import line_of
from nutgen.play.pitch import pitches

FRETS = (1, 3, 12)


@dataclass(frozen=True)
class Fault:
    """kind: "nut", "slot", "saddles", "saddle" or "string"; string -1 where it is all of them; size in mm or cents."""

    kind: str
    string: int
    size: float


def pressed_cents(nut: Nut, i: int, *, raised: float, saddle: float) -> np.ndarray:
    """Fretted notes against the open one, by the lengths of straight pieces of string."""
    line, slot = line_of(nut), nut.slots[i]
    neck, scale = line.neck, slot.scale_length
    kappa, core = float(nut.strings.kappa[i]), nut.strings.core_diameter[i]

    def up(values: np.ndarray) -> float:
        return float(np.broadcast_to(np.asarray(values), (len(nut.slots), 1))[i, 0])

    nut_z = up(line.height(np.zeros(1))) + raised
    over_12 = up(line.height(np.array([scale / 2.0])))
    end = np.array([scale + saddle, nut_z + (over_12 - nut_z) * 2.0])
    start = np.array([0.0, nut_z])
    whole = float(np.linalg.norm(end - start))

    def stiff(length: float, k: float) -> float:
        b = np.sqrt(k) * core / 4.0 / length
        return float(1.0 + 2.0 * b + (4.0 + np.pi**2 / 2.0) * b * b)

    told = []
    for fret in FRETS:
        u = scale - scale * 0.5 ** (fret / 12.0)
        behind = min(nut.swing.finger, (u - (scale - scale * 0.5 ** ((fret - 1) / 12.0))) / 2.0)
        crown = np.array([u, up(neck.crown(np.array([u])))])
        finger = crown + (crown - end) * behind / (end[0] - u)
        sounding = float(np.linalg.norm(end - crown))
        total = sounding + float(np.linalg.norm(crown - finger)) + float(np.linalg.norm(finger - start))
        q = total / whole - 1.0
        k = kappa / (1.0 + kappa * q)
        ratio = whole / sounding * np.sqrt((1.0 + q) * (1.0 + kappa * q)) * stiff(sounding, k) / stiff(whole, kappa)
        told.append(1200.0 * np.log2(ratio) - 100.0 * fret)
    return np.array(told)


def uneven_cents(place: float, wide: float, size: float) -> np.ndarray:
    """Harmonic and frets of a string with a thick spot, its largest reading scaled to a size [cents]."""
    points = 400

    def lowest(from_: float, which: int, heavy: float) -> float:
        step = (1.0 - from_) / (points + 1)
        x = from_ + step * np.arange(1, points + 1)
        mass = 1.0 + heavy * np.exp(-(((x - place) / wide) ** 2))
        root = 1.0 / np.sqrt(mass)
        found = eigh_tridiagonal(
            2.0 * root**2 / step**2, -root[:-1] * root[1:] / step**2, eigvals_only=True, select="i", select_range=(0, 1)
        )
        return float(np.sqrt(found[which]))

    def shifts(heavy: float) -> np.ndarray:
        open_by = np.log2(lowest(0.0, 0, heavy) / lowest(0.0, 0, 0.0))
        second = np.log2(lowest(0.0, 1, heavy) / lowest(0.0, 1, 0.0))
        starts = (1.0 - 0.5 ** (fret / 12.0) for fret in FRETS)
        frets = [np.log2(lowest(s, 0, heavy) / lowest(s, 0, 0.0)) for s in starts]
        return 1200.0 * (np.array([second, *frets]) - open_by)

    heavy = 0.05
    for _ in range(4):
        heavy *= size / np.max(np.abs(shifts(heavy)))
    return shifts(heavy)


def readings(nut: Nut, faults: list[Fault], draw: np.random.Generator, *, sd: float) -> np.ndarray:
    """What a tuner reads of an instrument with some faults, (strings, 4): harmonic and the three frets [cents]."""
    setbacks = pitches(nut).saddle
    told = np.zeros((len(nut.slots), 4))
    for i in range(len(nut.slots)):
        mine = [one for one in faults if one.string in (-1, i)]
        raised = sum(one.size for one in mine if one.kind in ("nut", "slot"))
        moved = sum(one.size for one in mine if one.kind in ("saddles", "saddle")) + draw.normal(0.0, 0.15)
        told[i, 1:] = pressed_cents(nut, i, raised=raised, saddle=float(setbacks[i]) + moved)
        for one in mine:
            if one.kind == "string":
                place, wide = draw.uniform(0.1, 0.9), draw.uniform(0.03, 0.15)
                told[i] += uneven_cents(place, wide, one.size)
    return np.asarray(told + draw.normal(0.0, sd, told.shape))
