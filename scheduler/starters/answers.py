"""What a starter has to know: the answers, as one form. Each key's words are its question.

An answers file has any of these keys, in the YAML of a job file; what it leaves out is asked for,
or taken from the starter's defaults (``data/starters``).
"""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from scheduler.jobfile.hourstext import DATE_WORDS, Moment
from scheduler.jobfile.values import AWAY, HOURS, MOMENT, SKILL, UNITS, YEAR
from scheduler.model import Away, Dated, Skill, Weekly
from scheduler.starters.files import starters
from scheduler.starters.values import (
    CEILING,
    Kept,
    OrUnknown,
    Said,
    Size,
    Tile,
    TileSize,
    TileTo,
    Word,
    Zone,
)
from scheduler.yamlform.amounts import HUMIDITY, LINE, TEMPERATURE
from scheduler.yamlform.fields import Choice, Many, YesNo
from scheduler.yamlform.forms import Entry, Form, key

Hours = tuple[Said[tuple[Weekly | Dated, ...]], ...]
Substrate = Literal["cement-board", "gypsum-backer", "foam-board"]
Joints = Literal["rapid-cement", "setting-compound"]
Membrane = Literal["liquid", "sheet"]
Pan = Literal["ready", "liner", "membrane"]
Floor = Literal["underlay", "board", "none"]
Walls = Literal["new", "paint", "leave"]

_SUBSTRATE = Choice[Substrate](
    {"cement-board": "cement-board", "gypsum-backer": "gypsum-backer", "foam-board": "foam-board"}
)
_JOINTS = Choice[Joints]({"rapid-cement": "rapid-cement", "setting-compound": "setting-compound"})
_MEMBRANE = Choice[Membrane]({"liquid": "liquid", "sheet": "sheet"})
_PAN = Choice[Pan]({"ready": "ready", "liner": "liner", "membrane": "membrane"})
_FLOOR = Choice[Floor]({"underlay": "underlay", "board": "board", "none": "none"})
_WALLS = Choice[Walls]({"new": "new", "paint": "paint", "leave": "leave"})
_SIDE = Size("2 ft", "13 ft", "5 ft")
_CEILING = Size("6 ft", "13 ft", "8 ft")
_FLOOR_SIDE = Size("2 ft", "26 ft", "8 ft")


@dataclass(frozen=True)
class Answers(Entry):
    """The answers, every one filled in; sizes in mm. ``written`` is how each stands in a file."""

    what: str = key(Word(starters), "What do you want to build?", "", required="a starter")
    units: Literal["metric", "imperial"] = key(
        UNITS, "Do you measure in feet and inches (imperial) or in metres (metric)?", "imperial"
    )
    width: float = key(_SIDE, "How wide is the shower or tub, along its back wall?", 0.0)
    depth: float = key(_SIDE, "How deep is it, from the back wall to the front?", 0.0)
    ceiling_height: float = key(_CEILING, "How high is the ceiling?", 0.0)
    tile_to: float | str = key(
        TileTo(),
        "How high up the walls will tile go: a height above the pan or tub, head (just over the "
        "shower head), or ceiling?",
        CEILING,
    )
    bench: bool = key(YesNo(), "A built-in bench?", False)
    niche: bool = key(YesNo(), "A niche for bottles in the wall?", False)
    pan: Pan = key(
        _PAN,
        "The shower floor: a ready pan with a flange (ready), a mortar bed over a liner (liner) or "
        "a mortar bed under the wall's membrane (membrane)?",
        "ready",
    )
    substrate: Substrate = key(
        _SUBSTRATE,
        "What goes on the studs under the tile: cement-board, gypsum-backer (glass-mat gypsum made "
        "for tile) or foam-board?",
        "cement-board",
    )
    joints: Joints = key(
        _JOINTS,
        "What fills the joints between boards: rapid-cement, or setting-compound (only where the "
        "membrane's label allows gypsum under it)?",
        "rapid-cement",
    )
    membrane: Membrane = key(
        _MEMBRANE, "The waterproofing: rolled on in two coats (liquid), or a sheet?", "liquid"
    )
    floor_length: float = key(
        _FLOOR_SIDE, "How long is the floor to be tiled (leave out shower and tub)?", 0.0
    )
    floor_width: float = key(_FLOOR_SIDE, "And how wide?", 0.0)
    floor: Floor = key(
        _FLOOR,
        "What makes the floor flat and stiff under the tile: a poured underlay, backer board, or "
        "none (it is ready for tile)?",
        "underlay",
    )
    thickness: float = key(
        Size("1/8 in", "1-1/2 in", "1/4 in", 0.05),
        "How thick is the underlay where it is thickest?", 0.0,
    )  # fmt: skip
    wet_floor: bool = key(YesNo(), "Should the floor be waterproofed, to hold a spill?", False)
    tile: Tile = key(
        TileSize(), "How big is a wall tile, as 4 in x 12 in or 300 x 600 mm?", Tile(1, 1)
    )
    floor_tile: Tile = key(
        TileSize(), "How big is a floor tile, as 12 in x 12 in or 300 x 300 mm?", Tile(1, 1)
    )
    joint: float = key(
        Size("1/32 in", "1/2 in", "1/8 in", 0.5), "How wide are the joints between tiles?", 0.0
    )
    walls: Walls = key(
        _WALLS,
        "The walls and ceiling that get no tile: new board and paint (new), patch and paint "
        "(paint), or leave?",
        "new",
    )
    splash_length: float = key(
        Size("1 ft", "50 ft", "10 ft"), "How long is the backsplash, all of it?", 0.0
    )
    splash_height: float = key(Size("3 in", "5 ft", "18 in"), "How high is it?", 0.0)
    skill: Skill = key(
        SKILL,
        "How used are you to such work: beginner (the first time), handy, or trade (for a living)?",
        "handy",
    )
    hours: Hours = key(
        Many(Kept(HOURS), least=1),
        "When can you work? Such as mon-fri 18:00-21:30, sat 9:00-17:00", (),
    )  # fmt: skip
    away: tuple[Said[tuple[Away, ...]], ...] = key(
        Many(Kept(AWAY)), "On which days are you away?", ()
    )
    trade_hours: Hours = key(
        Many(Kept(HOURS), least=1),
        "When do plumber, electrician and inspector come? Such as mon-fri 8:00-16:00", (),
    )  # fmt: skip
    household: bool = key(
        YesNo(), "Do others live there, who cannot use this room meanwhile?", False
    )
    inspections: bool = key(
        YesNo(), "Does your building department inspect such work? Say yes if you don't know.", True
    )
    year_built: Said[int] | None = key(
        OrUnknown(YEAR), "In which year was the house built (or unknown)?", None
    )
    temperature: Said[float] | None = key(
        OrUnknown(TEMPERATURE),
        "How warm is the room, day and night on average, as 64 F or 18 C (or unknown)?",
        None,
    )
    humidity: Said[float] | None = key(
        OrUnknown(HUMIDITY),
        "How damp is its air, such as 45 % relative humidity (or unknown)?",
        None,
    )
    timezone: str = key(
        Zone(), "In which time zone is the house? Such as America/Toronto", "",
        required=Zone.words,
    )  # fmt: skip
    start: Said[Moment] | None = key(
        Kept(MOMENT), "When can it begin? Such as 2027-01-08 18:00", None, required=DATE_WORDS
    )
    job: str = key(LINE, "What shall the job be called?", "", required="what the job is called")
    written: Mapping[str, str] = field(default_factory=dict)


ANSWERS = Form(Answers, "what: tiled-shower")
