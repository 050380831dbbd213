// The plan of the block one is in: its trees, the path walked, and where one is.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  let drawn = null;

  // The longer side runs down the edge of the page.
  function place(tree, upright) { return upright ? [tree.row, tree.position] : [tree.position, tree.row]; }

  function draw(trees) {
    const rows = trees.map(function (tree) { return tree.row; }), positions = trees.map(function (tree) { return tree.position; });
    const upright = Math.max(...positions) - Math.min(...positions) >= Math.max(...rows) - Math.min(...rows);
    const points = trees.map(function (tree) { return place(tree, upright); });
    const [left, top] = [0, 1].map(function (axis) { return Math.min(...points.map(function (point) { return point[axis]; })); });
    const [right, bottom] = [0, 1].map(function (axis) { return Math.max(...points.map(function (point) { return point[axis]; })); });
    const dots = new Map();
    const marks = trees.map(function (tree, number) {
      const dot = phone.h("circle", { cx: points[number][0], cy: points[number][1], r: 0.3 });
      dots.set(tree.pk, dot);
      return dot;
    });
    const here = phone.h("circle", { r: 0.62, class: "here" });
    const path = phone.h("polyline", { points: points.map(function (point) { return point.join(","); }).join(" ") });
    const svg = phone.h("svg", { viewBox: [left - 1, top - 1, right - left + 2, bottom - top + 2].join(" "), role: "img", class: "plan" }, path, marks, here);
    return { svg, dots, here, block: trees[0].block };
  }

  // The plan with a mark at a tree; null where its places are not recorded. `isDone` says of a tree whether it has a record.
  phone.plan = function (data, tree, isDone, said) {
    if (tree.row === null) return null;
    if (!drawn || drawn.data !== data || drawn.block !== tree.block) {
      drawn = draw(data.trees.filter(function (one) { return one.block === tree.block && one.row !== null; }));
      drawn.data = data;
    }
    drawn.dots.forEach(function (dot, pk) {
      const name = isDone(pk) ? "done" : "left";
      if (dot.getAttribute("class") !== name) dot.setAttribute("class", name);
    });
    const dot = drawn.dots.get(tree.pk);
    drawn.here.setAttribute("cx", dot.getAttribute("cx"));
    drawn.here.setAttribute("cy", dot.getAttribute("cy"));
    drawn.svg.setAttribute("aria-label", said);
    return drawn.svg;
  };
})();
