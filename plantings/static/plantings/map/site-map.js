/* Draws the site map from its parts (site-parts.js): base lines, site boundaries, sites with their figures, legend. Needs Leaflet; loads
   nothing. Every text that comes from the records is set as text, never as HTML. */
(function () {
  "use strict";

  // Marks whose centres are closer than this would cover each other; they become one group mark.
  var APART_X = 70, APART_Y = 42;
  // The card stays clear of the zoom buttons, which lie above it.
  var CARD = { maxWidth: 270, autoPanPaddingTopLeft: [66, 12], autoPanPaddingBottomRight: [12, 12] };
  var RAMP = [".20", ".20", ".40", ".60", ".80"];
  var parts = window.mastbookMap.parts, svg = parts.svg, html = parts.html, say = parts.say, decimal = parts.decimal, latlngOf = parts.latlngOf;

  /* ---- sites -------------------------------------------------------------------------------- */

  // First come, first served in reading order of the data: the same data gives the same groups.
  function gather(map, features) {
    var zoom = map.getZoom(), cells = {}, groups = [];
    features.forEach(function (feature, number) {
      var at = map.project(latlngOf(feature), zoom);
      var column = Math.floor(at.x / APART_X), row = Math.floor(at.y / APART_Y), home = null;
      for (var c = column - 1; c <= column + 1 && !home; c++) {
        for (var r = row - 1; r <= row + 1 && !home; r++) {
          home = (cells[c + ":" + r] || []).find(function (group) {
            return Math.abs(group.at.x - at.x) < APART_X && Math.abs(group.at.y - at.y) < APART_Y;
          });
        }
      }
      if (!home) {
        home = { at: at, members: [], numbers: [], together: true };
        groups.push(home);
        (cells[column + ":" + row] = cells[column + ":" + row] || []).push(home);
      }
      home.together = home.together && (!home.members.length || latlngOf(home.members[0]).equals(latlngOf(feature)));
      home.members.push(feature);
      home.numbers.push(number);
    });
    return groups;
  }

  function groupFeature(group) {
    var first = group.members[0];
    return { type: "Feature", geometry: first.geometry, properties: { group: group, key: group.numbers.join() } };
  }

  // One GeoJSON layer of marks: regrouped when the zoom changes, and only those in and around the view are drawn.
  var SiteLayer = L.GeoJSON.extend({
    initialize: function (data) {
      this.sites = data.features;
      this.drawn = {};
      L.GeoJSON.prototype.initialize.call(this, null, { pointToLayer: this.mark.bind(this) });
    },

    onAdd: function (map) {
      L.GeoJSON.prototype.onAdd.call(this, map);
      map.on("zoomend", this.regroup, this).on("moveend resize", this.refresh, this);
      // The view may not be set yet when the layer is added.
      map.whenReady(this.regroup, this);
    },

    onRemove: function (map) {
      map.off("zoomend", this.regroup, this).off("moveend resize", this.refresh, this);
      L.GeoJSON.prototype.onRemove.call(this, map);
    },

    regroup: function () {
      this.groups = gather(this._map, this.sites).map(groupFeature);
      this.refresh();
    },

    refresh: function () {
      if (!this.groups) { return; }
      var view = this._map.getBounds().pad(0.3), layer = this, wanted = {};
      this.groups.forEach(function (feature) {
        if (view.contains(latlngOf(feature))) { wanted[feature.properties.key] = feature; }
      });
      Object.keys(this.drawn).forEach(function (key) {
        if (!wanted[key]) { layer.removeLayer(layer.drawn[key]); delete layer.drawn[key]; }
      });
      Object.keys(wanted).forEach(function (key) {
        if (!layer.drawn[key]) { layer.addData(wanted[key]); }
      });
    },

    mark: function (feature, latlng) {
      var group = feature.properties.group, layer = this, marker;
      if (group.members.length === 1) { marker = this.siteMarker(group.members[0], latlng); }
      else { marker = this.groupMarker(group, latlng); }
      this.drawn[feature.properties.key] = marker;
      marker.on("add", function () { marker.getElement().setAttribute("aria-label", marker.spoken); });
      return marker;
    },

    siteMarker: function (feature, latlng) {
      var site = feature.properties, layer = this, reach = null;
      var marker = L.marker(latlng, { icon: parts.asIcon(parts.siteMark(site.label, site.step, site.exact), 38, 38) });
      marker.spoken = (site.name || site.code) + ": " + parts.figures(site);
      marker.bindPopup(function () { return parts.siteCard(site, latlng); }, CARD);
      // While its card is open, a generalised site shows the area in which it may lie.
      marker.on("popupopen", function () {
        if (!site.exact && layer._map) {
          reach = L.circle(latlng, { radius: site.uncertainty_m, className: "reach", interactive: false }).addTo(layer._map);
        }
      });
      marker.on("popupclose remove", function () { if (reach) { reach.remove(); reach = null; } });
      return marker;
    },

    groupMarker: function (group, latlng) {
      var layer = this, count = group.members.length, popup = L.popup(CARD);
      var shares = group.members.map(function (m) { return m.properties; })
        .filter(function (site) { return site.step !== null; }).map(function (site) { return site.share; });
      var marker = L.marker(latlng, { icon: parts.asIcon(parts.groupMark(count, shares), parts.groupWidth(count), 40), zIndexOffset: 500 });
      marker.spoken = say("openList", { n: count });
      popup.setContent(function () { return parts.groupCard(layer, group, popup); });
      marker.bindPopup(popup);
      return marker;
    },

    zoomTo: function (group) {
      var map = this._map, bounds = L.latLngBounds(group.members.map(latlngOf));
      var fitting = Math.min(map.getBoundsZoom(bounds, false, L.point(140, 140)), 16);
      map.closePopup();
      // On a narrow screen they may fit no closer; one step in still takes them apart.
      map.setView(bounds.getCenter(), Math.max(fitting, map.getZoom() + 1));
    }
  });

  /* ---- lines and names ---------------------------------------------------------------------- */

  function pane(map, name, order) {
    if (!map.getPane(name)) {
      map.createPane(name).style.zIndex = order;
      map.getPane(name).style.pointerEvents = "none";
    }
    return name;
  }

  // A name comes in at the zoom at which it fits into its area.
  function namesLayer(map, features) {
    var names = L.layerGroup();
    function refresh() {
      var zoom = map.getZoom(), view = map.getBounds();
      names.clearLayers();
      features.forEach(function (feature) {
        var about = feature.properties, latlng = about.at && L.latLng(about.at[1], about.at[0]);
        if (!latlng || !view.contains(latlng) || zoom < about.from) { return; }
        var text = html("span", "place " + about.level, null, about.label);
        L.marker(latlng, {
          icon: L.divIcon({ html: text, className: "place-icon", iconSize: [0, 0] }),
          interactive: false, keyboard: false, pane: pane(map, "places", 350)
        }).addTo(names);
      });
    }
    names.on("add", function () { map.on("moveend", refresh); map.whenReady(refresh); });
    names.on("remove", function () { map.off("moveend", refresh); });
    return names;
  }

  // Drawn on a canvas: a thousand outlines as SVG shapes make some browsers leave parts of the page unpainted.
  function baseLayer(map, data, overTiles) {
    var name = pane(map, "base", 210), night = window.matchMedia("(prefers-color-scheme: dark)");
    function style(feature) {
      var colours = getComputedStyle(document.documentElement);
      return {
        color: colours.getPropertyValue("--line").trim(), weight: feature.properties.level === "country" ? 1 : 0.8,
        fill: !overTiles, fillColor: colours.getPropertyValue("--land").trim(), fillOpacity: 1
      };
    }
    var lines = L.geoJSON(data, { interactive: false, pane: name, renderer: L.canvas({ pane: name, padding: 0.2 }), style: style });
    night.addEventListener("change", function () { lines.setStyle(style); });
    return overTiles ? lines : L.layerGroup([lines, namesLayer(map, data.features)]);
  }

  function boundaryLayer(map, data) {
    return L.geoJSON(data, {
      style: { className: "site-boundary" },
      onEachFeature: function (feature, layer) {
        var about = feature.properties;
        layer.bindPopup(function () {
          var card = html("div", "card");
          html("h2", "", card, about.name || about.code);
          html("p", "under", card, say("boundary", { site: about.code }));
          return card;
        });
      }
    });
  }

  // At the first press the map takes the focus. The page around its frame must not scroll by that, or the button comes
  // up beside the mark it went down on and the press is lost.
  L.Map.addInitHook(function () {
    var box = this.getContainer();
    box.focus = function () { HTMLElement.prototype.focus.call(box, { preventScroll: true }); };
  });

  /* ---- legend ------------------------------------------------------------------------------- */

  function row(parent, picture, words) {
    var line = html("div", "row", parent);
    html("span", "key", line).appendChild(picture);
    html("span", "", line, words);
  }

  function ramp(parent) {
    var line = html("div", "ramp", parent);
    RAMP.forEach(function (share, step) {
      var end = { 0: "under", 4: "upTo" }[step], words = end ? say(end, { share: decimal(share) }) : decimal(share);
      var wide = step === 0 || step === RAMP.length - 1, width = wide ? 66 : 44, box = parts.picture(width, 26);
      svg("rect", { x: 0, y: 0, width: width, height: 26, "class": "mark flat share-" + step }, box);
      svg("text", { x: width / 2, y: 18, "class": "figure small share-" + step }, box, words);
      line.appendChild(box);
    });
  }

  function legend(map, about) {
    var control = L.control({ position: "bottomleft" });
    control.onAdd = function () {
      var box = html("details", "legend");
      box.open = map.getSize().x >= 700 && map.getSize().y >= 420;
      html("summary", "", box, about.caption);
      html("p", "", box, say("share"));
      ramp(box);
      row(box, parts.siteMark(decimal(".69"), 3, true), say("shareAt"));
      row(box, parts.siteMark("7/9", null, true), say("underTen"));
      if (about.generalised) {
        row(box, parts.siteMark(decimal(".69"), 3, false), say("broken", { part: about.generalised, n: about.sites }));
      }
      row(box, parts.groupMark(3, [0.2, 0.55, 0.7]), say("close"));
      if (!about.sites) { html("p", "", box, say("noSite")); }
      if (about.unlocated) { html("p", "", box, say("unlocated", { n: about.unlocated })); }
      L.DomEvent.disableClickPropagation(box).disableScrollPropagation(box);
      return box;
    };
    control.addTo(map);
    return control;
  }

  window.mastbookMap.baseLayer = baseLayer;
  window.mastbookMap.boundaryLayer = boundaryLayer;
  window.mastbookMap.legend = legend;
  window.mastbookMap.siteLayer = function (map, data) { return new SiteLayer(data); };
})();
