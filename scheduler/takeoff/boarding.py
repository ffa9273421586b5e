"""Boards, their screws and their joints."""

from scheduler.allowances import Board
from scheduler.takeoff.buying import with_waste
from scheduler.takeoff.surfaces import rounded_up, square_metres

JOINT_CEMENT_DENSITY = 1.6
"""[kg/L] of dry joint cement in what it fills (common practice, no published source)."""


def boards(area: float, board: Board, waste: float | None = None) -> int:
    """Whole boards for an area [m2] with waste (the board's own share if None)."""
    share = board.waste if waste is None else waste
    return rounded_up(with_waste(area, share) / square_metres(board.length, board.width))


def screws_per_board(length: float, width: float, framing: float, spacing: float) -> int:
    """Screws in a board that lies across or along framing, edges included.

    A line of screws on each framing member, one more than the spaces; the same along each line.

    Args:
        length: of the board [mm].
        width: of the board [mm].
        framing: centre to centre of the studs, counted along ``length`` [mm].
        spacing: the most between two screws on a stud [mm].

    Source: geometry: 4x8 ft on 16 in studs takes 7 x (48/s + 1), which is 28, 35 and 49 at 16, 12
    and 8 in; 3x5 ft takes 5 x 6 at 8 in.
    """
    return (rounded_up(length / framing) + 1) * (rounded_up(width / spacing) + 1)


def screws(area: float, board: Board, ceiling: bool = False) -> int:
    """Screws for an area [m2] of a board, without waste, at the spacing its standard asks for."""
    spacing = board.ceiling_spacing if ceiling else board.wall_spacing
    each = screws_per_board(board.length, board.width, board.framing, spacing)
    return rounded_up(area * each / square_metres(board.length, board.width))


def joint_length(area: float, perimeter: float, board: Board) -> float:
    """Joints between boards on one surface [m].

    All edges of all boards are joints twice, or the surface's own edge once; exact for whole
    boards, and near enough for cut ones.

    Args:
        area: of the surface [m2].
        perimeter: of the surface; 0 leaves its edges counted as joints [m].
        board: its size counts.

    Source: geometry; without edges 4x8 ft boards give 375 ft to 1000 ft2, and trade handbooks say
    370 to 380 ft of tape.
    """
    half_edges = (board.length + board.width) / 1000 / square_metres(board.length, board.width)
    return max(area * half_edges - perimeter / 2, 0.0)


def joint_cement(length: float, width: float = 75.0, depth: float = 2.0) -> float:
    """Dry joint cement over meshed joints [kg].

    Args:
        length: joints, corners and the gap above the pan's flange [m].
        width: of the band filled over 2 in mesh [mm].
        depth: mean thickness of the band, gap included [mm].

    Source: volume at 1.6 kg/L; width and depth are common practice, no published source.
    """
    return length * width * depth / 1000 * JOINT_CEMENT_DENSITY
