"""Files written in YAML, read by forms: text to a tree with places, the tree to typed entries.

It knows nothing of jobs or products. Whoever reads a file states its form as dataclasses
(``forms``) over readers of values (``fields``, ``amounts``), and hands over the tree (``tree``);
every problem of the file comes back at once, each with its line and column.
"""
