"""How the pages become a site: `python -m sphinx -W -n -c docs -b html . build/site`."""

from pygments.lexers.special import TextLexer
from sphinx.highlighting import lexers

from optimiser import __version__

lexers["csv"] = TextLexer()

project = "optimiser"
release = version = __version__
author = "its maintainers"

root_doc = "docs/index"
include_patterns = ["README.md", "DEVELOPERS.md", "docs/**.md", "examples/*/README.md"]
extensions = ["myst_parser"]
myst_heading_anchors = 3
nitpicky = True

html_theme = "furo"
html_title = "optimiser"
html_show_sphinx = False
html_show_copyright = False
