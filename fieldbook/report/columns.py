"""Columns that are filled one after the other, laid out once.

WeasyPrint lays all columns out to see whether everything fits, and then again for good; what it
sees matters only where columns are to be of one height. Imports WeasyPrint, so it is imported
where a page is printed and nowhere else. It leans on how version 70 is built.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from weasyprint.layout import block
from weasyprint.layout.percent import percentage, resolve_percentages

_library = block.columns_layout
_FILLED_IN_TURN = {
    "column_fill": "auto",
    "column_width": "auto",
    "direction": "ltr",
    "height": "auto",
    "position": "static",
}
_ANYWHERE = {"break": "any", "page": None}


@contextmanager
def laid_out_once() -> Iterator[None]:
    """Lay out the columns of pages once, as long as this lasts."""
    block.columns_layout = _columns
    try:
        yield
    finally:
        block.columns_layout = _library


def _columns(
    context: Any,
    box: Any,
    bottom_space: float,
    skip_stack: Any,
    containing_block: Any,
    page_is_empty: bool,
    absolute_boxes: list[Any],
    fixed_boxes: list[Any],
    adjoining_margins: list[float],
    *first_styles: Any,
) -> tuple[Any, ...]:
    """Return the box with its columns, where to go on, how to break there, no margins, False."""
    placed = (absolute_boxes, fixed_boxes)
    if not _is_filled_in_turn(context, box):
        around = (bottom_space, skip_stack, containing_block, page_is_empty)
        result: tuple[Any, ...] = _library(
            context, box, *around, *placed, adjoining_margins, *first_styles
        )
        return result
    context.in_column = True
    box = box.copy_with_children(box.children)
    box.position_y += block.collapse_margin(adjoining_margins)
    block.block_level_width(box, containing_block)
    first, left = next(iter(skip_stack.items())) if skip_stack else (0, None)
    rest, columns, page = {0: left} if left else None, [], _ANYWHERE
    for column in _empty_columns(box, containing_block, first):
        made, rest, page, *_ = block.block_box_layout(
            context, column, bottom_space, rest, containing_block, page_is_empty,
            *placed, None, *first_styles, discard=False, max_lines=None,
        )  # fmt: skip
        columns.append(made)
        if made is None or rest is None:
            break
    context.in_column = False
    if None in columns:
        return None, (0, None), _ANYWHERE, [], False
    _of_one_height(context, box, columns, bottom_space)
    return box, {first + at: more for at, more in (rest or {}).items()} or None, page, [], False


def _is_filled_in_turn(context: Any, box: Any) -> bool:
    style = box.style
    return (
        all(style[name] == value for name, value in _FILLED_IN_TURN.items())
        and style["column_gap"] != "normal"
        and not box.min_height
        and not (context.footnotes or context.current_page_footnotes or context.reported_footnotes)
        and bool(box.children)
        and all(child.style["column_span"] != "all" for child in box.children)
    )


def _empty_columns(box: Any, containing_block: Any, first: int) -> Iterator[Any]:
    """Give the columns one after the other, each to be filled with what the one before left."""
    children = [child.copy() for child in box.children[first:]]
    count = box.style["column_count"]
    gap = percentage(box.style["column_gap"], box.style, box.width)
    width = max(0, box.width - (count - 1) * gap) / count
    for number in range(count):
        column = box.anonymous_from(box, children=children)
        resolve_percentages(column, containing_block)
        column.is_column = True
        column.width = width
        column.position_x = box.content_box_x() + number * (width + gap)
        column.position_y = box.content_box_y()
        yield column


def _of_one_height(context: Any, box: Any, columns: list[Any], bottom_space: float) -> None:
    height = max(column.margin_height() for column in columns)
    for column in columns:
        column.height = height
    box.children = columns
    box.height = min(height, context.page_bottom - box.content_box_y() - bottom_space)
