/* The parts the site map is drawn from: elements, marks, words, cards. Needs Leaflet; loads nothing.
   Every text that comes from the records is set as text, never as HTML. */
(function () {
  "use strict";

  var MOST_LISTED = 6, BINS = 23;
  var SVG = "http://www.w3.org/2000/svg";

  function svg(name, attributes, parent, text) {
    var node = document.createElementNS(SVG, name);
    Object.keys(attributes).forEach(function (key) { node.setAttribute(key, attributes[key]); });
    if (text !== undefined) { node.textContent = text; }
    if (parent) { parent.appendChild(node); }
    return node;
  }

  function html(name, className, parent, text) {
    var node = document.createElement(name);
    if (className) { node.className = className; }
    if (text !== undefined) { node.textContent = text; }
    if (parent) { parent.appendChild(node); }
    return node;
  }

  // The document says every word in the language of its reader (plantings/maps/words.py).
  function say(name, values) {
    return window.mastbookWords[name].replace(/%\((\w+)\)s/g, function (_, place) { return String(values[place]); });
  }

  function decimal(text) { return text.replace(".", window.mastbookWords.decimal); }

  function two(share) { return decimal(share.toFixed(2)); }

  function stepClass(step) { return step === null || step === undefined ? "no-share" : "share-" + step; }

  /* ---- marks -------------------------------------------------------------------------------- */

  function picture(width, height) {
    return svg("svg", { width: width, height: height, viewBox: "0 0 " + width + " " + height, "aria-hidden": "true" });
  }

  // Circle: exact position. Square with a broken edge: generalised position.
  function siteMark(label, step, exact) {
    var mark = picture(38, 38), wide = label.length > 3;
    if (exact) { svg("circle", { cx: 19, cy: 19, r: 17, "class": "mark " + stepClass(step) }, mark); }
    else { svg("rect", { x: 2, y: 2, width: 34, height: 34, "class": "mark blurred " + stepClass(step) }, mark); }
    svg("text", { x: 19, y: 24, "class": "figure " + stepClass(step) + (wide ? " wide" : "") }, mark, decimal(label));
    return mark;
  }

  // A group shows how many sites it holds and, over a line from 0 to 1, where their shares lie: taller where more do.
  function groupWidth(count) { return 64 + 8 * Math.max(String(count).length - 2, 0); }

  function groupMark(count, shares) {
    var width = groupWidth(count), mark = picture(width, 40), middle = (width - 4) / 2, left = middle - 23, bins = [];
    svg("rect", { x: 5, y: 1, width: width - 6, height: 34, rx: 3, "class": "mark pile" }, mark);
    svg("rect", { x: 1, y: 5, width: width - 6, height: 34, rx: 3, "class": "mark pile" }, mark);
    svg("text", { x: middle, y: 19, "class": "figure group" }, mark, say("sites", { n: count }));
    shares.forEach(function (share) {
      var bin = Math.min(Math.floor(share * BINS), BINS - 1);
      bins[bin] = (bins[bin] || 0) + 1;
    });
    var most = Math.max.apply(null, bins.filter(Boolean).concat(1));
    bins.forEach(function (number, bin) {
      var x = left + 2 * bin + 1;
      svg("line", { x1: x, y1: 35, x2: x, y2: 35 - 2 - 9 * number / most, "class": "tick" }, mark);
    });
    svg("line", { x1: left, y1: 35.5, x2: left + 46, y2: 35.5, "class": "axis" }, mark);
    return mark;
  }

  function asIcon(picture, width, height) {
    return L.divIcon({ html: picture, className: "site-icon", iconSize: [width, height], popupAnchor: [0, -height / 2 + 4] });
  }

  function latlngOf(feature) { return L.latLng(feature.geometry.coordinates[1], feature.geometry.coordinates[0]); }

  /* ---- words -------------------------------------------------------------------------------- */

  function figures(site) {
    if (site.n <= 0) { return say("none"); }
    if (site.share === null || site.n < 10) { return say("alive", site); }
    var interval = site.low === null ? "" : " (" + two(site.low) + "–" + two(site.high) + ")";
    var values = { share: two(site.share) + interval, n: site.n, countable: site.countable };
    return say(site.countable > site.n ? "figureOf" : "figure", values);
  }

  function fact(list, term, value) {
    html("dt", "", list, term);
    html("dd", "", list, value);
  }

  function siteCard(site, latlng) {
    var card = html("div", "card");
    html("h2", "", card, site.name || site.code);
    html("p", "under", card, [site.code, site.jurisdiction].filter(Boolean).join(" · "));
    html("p", "answer", card, figures(site));
    var facts = html("dl", "", card);
    fact(facts, say("planted"), String(site.planted));
    fact(facts, say("aliveHead"), String(site.alive));
    if (site.band_low !== null && site.band_low !== site.band_high) {
      fact(facts, say("band"), say("bandWords", { low: two(site.band_low), high: two(site.band_high) }));
    }
    if (site.exact) { fact(facts, say("position"), latlng.lat.toFixed(5) + ", " + latlng.lng.toFixed(5)); }
    if (site.text) { html("p", "", card, site.text); }
    if (!site.exact) {
      html("p", "caution", card, say("notExact", site));
    }
    if (site.detail_url) {
      var link = html("a", "", html("p", "", card), say("open"));
      link.href = site.detail_url;
      link.target = "_top";
    }
    return card;
  }

  function groupCard(layer, group, popup) {
    var card = html("div", "card"), members = group.members;
    html("h2", "", card, say("sitesHere", { n: members.length }));
    var list = html("ul", "sites", card);
    // Sites at the same place can never be zoomed apart, so all of them are listed.
    var listed = group.together ? members : members.slice(0, MOST_LISTED);
    listed.forEach(function (member) {
      var site = member.properties;
      var button = html("button", "", html("li", "", list));
      html("span", "name", button, site.name || site.code);
      html("span", "value", button, figures(site));
      onPress(button, function () {
        var page = siteCard(site, latlngOf(member)), back = html("button", "back", page, say("backToSites", { n: members.length }));
          onPress(back, function () { show(popup, groupCard(layer, group, popup)); });
        show(popup, page);
      });
    });
    if (listed.length < members.length) { html("p", "", card, say("more", { n: members.length - listed.length })); }
    if (!group.together) {
      var zoom = html("button", "back", card, say("zoom"));
      onPress(zoom, function () { layer.zoomTo(group); });
    }
    return card;
  }

  // A button that its own press takes off the page would otherwise count as a press on the map, which closes the card.
  function onPress(button, action) {
    button.type = "button";
    button.addEventListener("click", function (event) { event.stopPropagation(); action(); });
  }

  // The new card takes the focus, or a keyboard would be left on a button that is gone.
  function show(popup, card) {
    popup.setContent(card);
    var first = card.querySelector("button, a");
    if (first) { first.focus(); }
  }

  window.mastbookMap = {
    parts: {
      svg: svg, picture: picture, html: html, say: say, decimal: decimal, latlngOf: latlngOf, figures: figures,
      siteMark: siteMark, groupMark: groupMark, groupWidth: groupWidth, asIcon: asIcon, siteCard: siteCard, groupCard: groupCard
    }
  };
})();
