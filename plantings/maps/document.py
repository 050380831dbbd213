"""Our own folium classes and their templates: the page, the map, a layer drawn by `site-map.js`, the legend.

Each class is made on first use, because importing folium takes a second.
"""

from collections.abc import Mapping
from functools import cache

PAGE = """<!DOCTYPE html>
<html lang="{{ this.words.lang }}">
<head>
<title>{{ this.title }}</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
{{ this.header.render(**kwargs) }}
{{ this.head }}
</head>
<body>
<div class="page">
<noscript><p>{{ this.words.noScript }}</p></noscript>
{{ this.above }}
{{ this.html.render(**kwargs) }}
{{ this.below }}
</div>
<script>
window.mastbookWords = {{ this.words_json }};
{{ this.script.render(**kwargs) }}
</script>
</body>
</html>
"""

MAP = """
{% macro html(this, kwargs) %}<div class="site-map" id="{{ this.get_name() }}"></div>{% endmacro %}
{% macro script(this, kwargs) %}
var {{ this.get_name() }} = L.map({{ this.get_name()|tojson }}, {
  ...{{ this.options|tojavascript }}
});
L.control.attribution({prefix: false}).addAttribution({{ this.credit|tojson }}).addTo({{ this.get_name() }});
L.control.scale().addTo({{ this.get_name() }});
{% endmacro %}
"""

LAYER = """
{% macro script(this, kwargs) %}
var {{ this.get_name() }} = mastbookMap.{{ this.call }}({{ this._parent.get_name() }}, {{ this.data }}{{ this.further }});
{% endmacro %}
"""

LEGEND = """
{% macro script(this, kwargs) %}
mastbookMap.legend({{ this._parent.get_name() }}, {{ this.about }});
{% endmacro %}
"""


@cache
def page_class() -> type:
    from branca.element import Figure
    from folium.template import Template

    class Page(Figure):
        _template = Template(PAGE)

        def __init__(self, title: str, head: str, above: str, below: str, words: Mapping[str, str], words_json: str):
            super().__init__(title=title)
            self.head, self.above, self.below = head, above, below
            self.words, self.words_json = words, words_json

    return Page


@cache
def site_map_class() -> type:
    from folium import Map
    from folium.template import Template

    class SiteMap(Map):
        """folium's map without its remote files, inline styles and ban on zooming the page.

        It has no centre of its own: the first view is the one that FitBounds sets, at once and without a flight.
        """

        _template = Template(MAP)

        def __init__(self, scripts, styles, credit: str):
            # Set on the instance: the lists of the class are shared by the whole process.
            self.default_js, self.default_css = scripts, styles
            super().__init__(tiles=None, max_bounds=True, min_lon=-200, max_lon=200)
            self.options |= {"min_zoom": 2, "max_zoom": 18, "max_bounds_viscosity": 0.8, "attribution_control": False}
            self.credit = credit
            self._id = "document"  # instead of a random number: the same points give the same document

    return SiteMap


@cache
def drawn_layer_class() -> type:
    from folium.map import Layer
    from folium.template import Template

    class DrawnLayer(Layer):
        _template = Template(LAYER)

        def __init__(self, call: str, name: str, data: str, further: str):
            super().__init__(name=name, overlay=True)
            self.call, self.data, self.further = call, data, further
            self._name, self._id = "drawn", call

    return DrawnLayer


@cache
def legend_class() -> type:
    from folium.elements import MacroElement
    from folium.template import Template

    class Legend(MacroElement):
        _template = Template(LEGEND)

        def __init__(self, about: str):
            super().__init__()
            self.about = about

    return Legend
