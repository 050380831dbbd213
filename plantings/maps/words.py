"""The words that the scripts of the map and the document around them write. The page of the map gives them in its reader's language."""

from types import MappingProxyType

from registry.calc.shared.marked import gettext_noop

__all__ = ["MAP_WORDS"]

MAP_WORDS = MappingProxyType(
    {
        "lang": "en",
        "decimal": ".",
        "noScript": gettext_noop("This map needs JavaScript. The survival page shows the same figures in a table."),
        "lines": gettext_noop("State and country lines"),
        "boundaries": gettext_noop("Site boundaries"),
        "siteLayer": gettext_noop("Sites"),
        "under": gettext_noop("under %(share)s"),
        "upTo": gettext_noop("%(share)s to 1"),
        "sites": gettext_noop("%(n)s sites"),
        "sitesHere": gettext_noop("%(n)s sites here"),
        "openList": gettext_noop("%(n)s sites; open the list"),
        "backToSites": gettext_noop("Back to the %(n)s sites"),
        "more": gettext_noop("and %(n)s more."),
        "zoom": gettext_noop("Zoom in on these sites"),
        "none": gettext_noop("No tree assessed."),
        "alive": gettext_noop("%(alive)s of %(n)s alive"),
        "figure": gettext_noop("%(share)s, n %(n)s"),
        "figureOf": gettext_noop("%(share)s, n %(n)s of %(countable)s"),
        "planted": gettext_noop("Planted"),
        "aliveHead": gettext_noop("Alive"),
        "band": gettext_noop("Band"),
        "bandWords": gettext_noop("%(low)s–%(high)s (unaccounted trees all dead to all alive)"),
        "position": gettext_noop("Position"),
        "notExact": gettext_noop("Not the exact place. %(note)s"),
        "open": gettext_noop("Open this site"),
        "boundary": gettext_noop("%(site)s · boundary of the site"),
        "share": gettext_noop("Share of the trees alive; darker is more."),
        "shareAt": gettext_noop("Share alive, at the place of the site"),
        "underTen": gettext_noop("Under 10 trees: 7 of 9 alive"),
        "broken": gettext_noop("Broken edge: place generalised (%(part)s of %(n)s sites)"),
        "close": gettext_noop("Sites close together, their shares on a line from 0 to 1"),
        "noSite": gettext_noop("No site with a position to show."),
        "unlocated": gettext_noop("%(n)s without a position, not drawn."),
    }
)
