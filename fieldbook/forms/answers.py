"""The scout's answer to a question about a row."""

from fieldbook.schema import Choice

TRUE = Choice(key="true", label="Yes, it is true")
LOST = Choice(key="lost", label="Cannot recount")
ANSWERS = (TRUE, LOST)

ANSWER_LABEL = "Sure?"
ANSWER_HELP = (
    "Only when the Look column asks. Unusual but true: choose 'Yes, it is true'. "
    "Nothing left to count again: choose 'Cannot recount', and only the doubtful "
    "numbers of this row are left out."
)
