"""Draw: SVG pictures from values. Same value, same text; no word and no formatted number is its own.

    values      what a picture is drawn from, and the clearances its labels are written about
    errors      what is raised when a value cannot be drawn
    sizes       sizes_picture: a boot model's sizes in the width-length plane, and the hooves among them
    sole        sole_picture: one hoof from below against one size, with its clearances
    four        four_hooves_picture: up to four hooves of one horse on one page
    cycle       cycle_picture: width and length over the trim cycle, against one size; cycle_values: its values
    pad         pad_picture: a hoof lifted by a pad in a boot with leaning walls; pad_values: its values
    plane, ranges, names, ellipse     parts of the sizes picture: what is in view, boxes, labels, doubt
    outline, strip                    parts of the sole picture: the hoof's shape, one axis magnified
    marks, key                        small signs, and the entries that explain them
    coverage    coverage_picture: what sizes cover of the plane, and the gaps they leave a herd
    chart       chart_picture: a boot model's whole size chart, and what is doubtful in it; chart_values: its values
    curve       curve_picture: share of a herd served against number of sizes
    herd_values, axes, contours       parts of these two: their values, the ruled plane, lines of one height
    sheet, lettering, boxes           the paper, the texts on it, and where labels go
    style, palette                    how kinds of mark look: light, dark, in print

Draw knows fit's and catalog's values. It knows no question, no answer, no language and no request.
Marks in docstrings: [C] our convention.
"""

from hooflast.draw.cycle import cycle_picture
from hooflast.draw.cycle_values import CycleKey, CyclePanel, CyclePicture, CyclePoint, DrawnCycle, WeekTick
from hooflast.draw.errors import PictureRefused
from hooflast.draw.four import four_hooves_picture
from hooflast.draw.pad import pad_picture
from hooflast.draw.pad_values import DrawnPad, PaddedHoof, PadKey, PadPanel, PadPicture, Slopes
from hooflast.draw.sizes import sizes_picture
from hooflast.draw.sole import sole_picture
from hooflast.draw.values import (
    Clearance,
    ClearanceWords,
    DrawnCaution,
    DrawnChance,
    DrawnHoof,
    FourHoovesPicture,
    HoofEntry,
    Identity,
    MissingAxis,
    SizesKey,
    SizesPicture,
    SoleKey,
    SolePicture,
    Tick,
    clearance,
)

__all__ = [
    "Clearance",
    "ClearanceWords",
    "CycleKey",
    "CyclePanel",
    "CyclePicture",
    "CyclePoint",
    "DrawnCaution",
    "DrawnChance",
    "DrawnCycle",
    "DrawnHoof",
    "DrawnPad",
    "FourHoovesPicture",
    "HoofEntry",
    "Identity",
    "MissingAxis",
    "PadKey",
    "PadPanel",
    "PadPicture",
    "PaddedHoof",
    "PictureRefused",
    "SizesKey",
    "SizesPicture",
    "Slopes",
    "SoleKey",
    "SolePicture",
    "Tick",
    "WeekTick",
    "clearance",
    "cycle_picture",
    "four_hooves_picture",
    "pad_picture",
    "sizes_picture",
    "sole_picture",
]
