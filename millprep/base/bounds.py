"""How much is taken of anything: the largest files, the longest lists, the greatest sizes.

Every bound at which something of a person's is refused or cut short stands here, with the row that
docs/developers/bounds.md shows: what it is of, and what is more than it. They are far beyond what a
home workshop makes, and near enough that nothing takes minutes, or the machine's memory.
"""

from __future__ import annotations

LARGEST_FILE_BYTES = 8_000_000
"""bytes of a part, shop, assembly or measured file | refused before it is read"""
LARGEST_PLAN_BYTES = 40_000_000
"""bytes of a DXF that a part file is made of | refused before it is read"""
MOST_SHAPES = 500_000
"""shapes of a DXF, blocks written out | refused"""
MOST_TABLES = 20_000
"""tables with a header, `[stock]` or `[[hole]]`, in one file | refused before it is read"""
MOST_VALUES = 300_000
"""values in one file, counted by its commas and equals signs | refused before it is read"""
MOST_LEVELS = 20
"""brackets within brackets | refused"""
MOST_COLUMNS = 1_000
"""columns of a measured file | refused before it is read"""
MOST_ROWS = 100_000
"""lines of a measured file | refused before it is read"""
MOST_FAULTS = 200
"""faults of one file that are told; the rest are counted | counted"""
MOST_SLIPS = 30
"""slips of one file against TOML that are told | told once those are mended"""
LARGEST_MENDED_LETTERS = 200_000
"""letters of a file of which more than the first slip against TOML is told | the first is told"""

MOST_HOLES = 50_000
"""holes of a part, and of all members of an assembly together | refused"""
MOST_IN_A_MILLIMETRE = 100
"""holes of one face in one square millimetre | refused"""
MOST_DIMENSIONS = 5_000
"""`[[dimension]]` of a part | refused"""
MOST_HELD_TOGETHER = 200
"""dimensions along one axis that are held against each other too, not only the places | left out"""
MOST_SETUPS = 200
"""`[[setup]]` of a part | refused"""
MOST_OBSTACLES = 200
"""`[[setup.obstacle]]` of a setup | refused"""
MOST_TOOLS = 2_000
"""`[[tool]]` of a shop, and tools of each list of its drawer, ranges written out | refused"""
MOST_MEMBERS = 500
"""members of an assembly | refused"""
MOST_JOINTS = 2_000
"""`[[joint]]`, `[[shared]]`, `[[reamed_together]]` or `[[handed_pair]]` of an assembly | refused"""
MOST_IN_LIST = 2_000
"""entries of any other list | refused"""
MOST_PAIRS_A_HOLE = 10
"""holes close to another that are looked at, on the average over a part | a stop says so"""
MOST_TOLD_OF_A_PART = 20_000
"""faults between a part's holes and its faces that are told; the rest are counted | counted"""

LONGEST_NAME = 40
"""letters of a name | refused"""
LONGEST_TEXT = 400
"""letters of a note or title | refused"""
LONGEST_MM = 1_000_000
"""mm of any length | refused"""
LARGEST_STOCK_MM = 10_000
"""mm of the stock, each way | refused"""
LARGEST_TOOL_MM = 500
"""mm across a tool, in the drawer, in `[[tool]]` or in a program's tool line | refused"""
LONGEST_TOOL_MM = 1_000
"""mm along a tool: its length, flutes, reach and holder | refused"""
LEAST_PECK_MM = 0.05
"""mm of a peck, at least | refused"""
MOST_PECKS_OF_A_HOLE = 500
"""pecks of one hole | refused"""

LARGEST_PROGRAM_BYTES = 200_000_000
"""bytes of a program | refused before it is read"""
LONGEST_LINE = 256
"""characters on a line of a program (NISTIR 6556, section 3.3) | refused at the line"""
LARGEST_NUMBER = 1_000_000
"""in a program, any number | refused at the line"""
MOST_MOVES = 3_000_000
"""motions of a program | refused at the line"""
MOST_CALLED_LINES = 5_000_000
"""lines that its subprograms and loops run through | refused at the line"""
MOST_STILL_LINES = 300_000
"""of them without a motion | refused at the line"""
MOST_FLOW_SECONDS = 60
"""seconds that its subprograms and loops run for | refused at the line"""
MOST_KEPT_LINES = 50_000
"""lines of a program that are kept ready to be run again | read anew each time"""
LARGEST_SUBPROGRAM_BYTES = 8_000_000
"""bytes of a subprogram's own file | refused at the call"""
MOST_REPEATS = 10_000
"""repeats of a cycle (L) | refused at the line"""
MOST_PECKS = 10_000
"""pecks of a cycle in a program | refused at the line"""
MOST_COMPARED_LINES = 20_000
"""lines that the second reader compares | left out, with a note"""
MOST_FINDINGS = 1_000
"""findings of a report | counted by kind"""

MOST_FILES = 2_000
"""files of a folder that the desk shows | left out"""
MOST_FOLDERS = 300
"""folders within one that the desk offers to stand on | left out"""
LARGEST_BODY_BYTES = 10_000_000
"""bytes that a page of the desk sends at a time | refused"""
MOST_ANSWERS = 200
"""answers that the desk has at hand, for changes sent twice | the oldest is given up"""
MOST_STATES = 100
"""states of a file that the desk keeps to step back to | the oldest is given up"""
LONGEST_FILE_NAME = 60
"""letters of a file name that the desk makes of a typed name | refused"""

MOST_PIECES = 40_000
"""lines in each view of a dry run's picture | left out, and it is said"""
MOST_SECTIONS = 24
"""sections of a dry run's picture, `--section` | refused"""
MOST_MADE = 100
"""pieces of a part at a time, `--pieces` and `--places` | refused"""
MOST_SQUARES_LEFT = 600_000
"""squares in which what is left of the stock is worked out, more or less | worked out coarser"""
MOST_LINES_SHOWN = 20_000
"""lines of the programs on a dry run's page | left out, and it is said"""
MOST_MOVES_SHOWN = 50_000
"""motions on a dry run's page | left out, and it is said"""
MOST_DOTS = 64_000_000
"""dots of a picture or drawing while it is drawn as PNG | drawn coarser"""
MOST_SIMULATED = 200
"""holes of a pattern whose chance is worked out | left out, with a note"""
MOST_PLACED_BY_READINGS = 1_000
"""holes of one face that readings over pins and from edges can place | refused"""
