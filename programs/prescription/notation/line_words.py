"""Where a rule of a line starts, and the word that it is made of."""

from programs.prescription.notation.lexer import Word
from programs.prescription.notation.line_grammar import LineTree


def start_column(tree: LineTree) -> int:
    """Give the column, from 0, at which a rule's first word starts; 0 where it has none."""
    node: Word | LineTree = tree
    while not isinstance(node, Word):
        if not node.children:
            return 0
        node = node.children[0]
    return node.start


def only_word(tree: LineTree) -> Word:
    """Give the first word among a rule's own parts."""
    return next(child for child in tree.children if isinstance(child, Word))
