// The plan of the planting, or of the block one is in where the planting is large or its blocks number their rows alike: its trees, the path
// walked, a ring at the first tree as on the printed field form, and where one is. Thousands of trees are three paths, so that a tap that
// draws it again stays quick: a dot is a line without length and with a round end.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say } = phone;
  const WHOLE_MOST = 400, ACROSS_MOST = 16, ALONG_MOST = 56; // trees, and places along its sides, up to which the dots of a planting are told apart
  const NARROW_MOST = 8; // places across, above which a plan is drawn broad
  const BROAD_PX = 96, NARROW_PX = 48, TALL_PX = 256, MARK_PX = 5; // as in phone.css; how far a mark is from its tree at least
  let drawn = null;

  // The longer side runs down the edge of the page.
  function place(tree, upright) { return upright ? [tree.row, tree.position] : [tree.position, tree.row]; }

  function dotsAt(points) { return points.map(function (point) { return "M" + point.join(" ") + "h0"; }).join(""); }

  function span(numbers) { return Math.max(...numbers) - Math.min(...numbers); }

  function sides(trees) {
    return ["row", "position"].map(function (name) { return span(trees.map(function (tree) { return tree[name]; })); }).sort(function (one, other) { return one - other; });
  }

  // Whether all trees can be drawn together: of no other block is one at the same place, and there are not too many for a small screen.
  function isWhole(data, placed) {
    if (phone.blocks.parts(data).length || placed.length > WHOLE_MOST) return false;
    const [across, along] = sides(placed);
    return across < ACROSS_MOST && along < ALONG_MOST && new Set(placed.map(function (tree) { return tree.row + "/" + tree.position; })).size === placed.length;
  }

  // Whether the first of these trees is the first one of its block; of a block that came in part it may be on no phone.
  function isFirstHere(data, block) {
    return phone.blocks.parts(data).every(function (part) { return part.piece !== 1 || part.first !== block || part.key in phone.state.parts; });
  }

  function draw(data, placed, block) {
    const trees = block === null ? placed : placed.filter(function (tree) { return tree.block === block; });
    const upright = span(trees.map(function (tree) { return tree.position; })) >= span(trees.map(function (tree) { return tree.row; }));
    const points = trees.map(function (tree) { return place(tree, upright); });
    const [left, top] = [0, 1].map(function (axis) { return Math.min(...points.map(function (point) { return point[axis]; })); });
    const [right, bottom] = [0, 1].map(function (axis) { return Math.max(...points.map(function (point) { return point[axis]; })); });
    const isBroad = right - left >= NARROW_MOST;
    // in places: a mark stays large enough to be seen where many trees are drawn small
    const mark = Math.max(0.62, MARK_PX / Math.min((isBroad ? BROAD_PX : NARROW_PX) / (right - left + 2), TALL_PX / (bottom - top + 2)));
    const edge = Math.max(1, mark * 1.5);
    const at = new Map(trees.map(function (tree, number) { return [tree.pk, points[number]]; }));
    const here = h("circle", { r: mark, class: "here", "stroke-width": mark * 0.45 }), done = h("path", { class: "done" });
    const path = h("polyline", { points: points.map(function (point) { return point.join(","); }).join(" ") });
    const all = ["edge", "left"].map(function (name) { return h("path", { class: name, d: dotsAt(points) }); });
    const first = isFirstHere(data, block) ? trees[0] : null, [x, y] = points[0];
    const ring = first && h("circle", { r: mark * 1.35, cx: x, cy: y, class: "first", "stroke-width": mark * 0.2 });
    const view = [left - edge, top - edge, right - left + 2 * edge, bottom - top + 2 * edge].join(" ");
    const svg = h("svg", { viewBox: view, role: "img", class: "plan", "data-broad": isBroad }, path, all, done, ring, here);
    const blocks = [...new Set(placed.map(function (tree) { return tree.block; }))];
    const isOfSeveral = block && blocks.length > 1 && !phone.blocks.parts(data).length;
    const where = isOfSeveral ? say("planBlock", { block, number: blocks.indexOf(block) + 1, n: blocks.length }) : "";
    const starts = first ? say("planFirst", { tag: first.tag }) : "";
    const shown = h("div", { class: "plan-box" }, svg, h("p", { "aria-hidden": "true" }, where, where ? " " : "", starts));
    return { data, block, shown, svg, at, done, here, words: [where, starts].filter(Boolean) };
  }

  // The plan with a mark at a tree; null where its places are not recorded. `isDone` says of a tree whether it has a record.
  phone.plan = function (data, tree, isDone, said) {
    if (tree.row === null) return null;
    if (!drawn || drawn.data !== data || (drawn.block !== null && drawn.block !== tree.block)) {
      const placed = data.trees.filter(function (one) { return one.row !== null; });
      drawn = draw(data, placed, isWhole(data, placed) ? null : tree.block);
    }
    drawn.done.setAttribute("d", dotsAt([...drawn.at].filter(function (pair) { return isDone(pair[0]); }).map(function (pair) { return pair[1]; })));
    const [x, y] = drawn.at.get(tree.pk);
    drawn.here.setAttribute("cx", x);
    drawn.here.setAttribute("cy", y);
    drawn.svg.setAttribute("aria-label", [said, ...drawn.words].join(". "));
    return drawn.shown;
  };
})();
