"""Write `fieldbook/problems.md`, the page of everything that is checked, from the catalogue.

``python tests/problems_page.py`` writes it anew; a test says when that is due.
"""

from pathlib import Path

import fieldbook
from fieldbook.explain import catalogue_page

PAGE = Path(fieldbook.__file__).with_name("problems.md")

if __name__ == "__main__":
    PAGE.write_text(catalogue_page(), encoding="utf-8")
    print(f"wrote {PAGE.name}")
