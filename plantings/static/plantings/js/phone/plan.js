// The plan of the block one is in: its trees, the path walked, and where one is. Thousands of trees are three paths, so that a tap that draws it
// again stays quick: a dot is a line without length and with a round end.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  let drawn = null;

  // The longer side runs down the edge of the page.
  function place(tree, upright) { return upright ? [tree.row, tree.position] : [tree.position, tree.row]; }

  function dotsAt(points) { return points.map(function (point) { return "M" + point.join(" ") + "h0"; }).join(""); }

  function draw(trees) {
    const rows = trees.map(function (tree) { return tree.row; }), positions = trees.map(function (tree) { return tree.position; });
    const upright = Math.max(...positions) - Math.min(...positions) >= Math.max(...rows) - Math.min(...rows);
    const points = trees.map(function (tree) { return place(tree, upright); });
    const [left, top] = [0, 1].map(function (axis) { return Math.min(...points.map(function (point) { return point[axis]; })); });
    const [right, bottom] = [0, 1].map(function (axis) { return Math.max(...points.map(function (point) { return point[axis]; })); });
    const at = new Map(trees.map(function (tree, number) { return [tree.pk, points[number]]; }));
    const here = phone.h("circle", { r: 0.62, class: "here" }), done = phone.h("path", { class: "done" });
    const path = phone.h("polyline", { points: points.map(function (point) { return point.join(","); }).join(" ") });
    const all = ["edge", "left"].map(function (name) { return phone.h("path", { class: name, d: dotsAt(points) }); });
    const svg = phone.h("svg", { viewBox: [left - 1, top - 1, right - left + 2, bottom - top + 2].join(" "), role: "img", class: "plan" }, path, all, done, here);
    return { svg, at, done, here, block: trees[0].block };
  }

  // The plan with a mark at a tree; null where its places are not recorded. `isDone` says of a tree whether it has a record.
  phone.plan = function (data, tree, isDone, said) {
    if (tree.row === null) return null;
    if (!drawn || drawn.data !== data || drawn.block !== tree.block) {
      drawn = draw(data.trees.filter(function (one) { return one.block === tree.block && one.row !== null; }));
      drawn.data = data;
    }
    drawn.done.setAttribute("d", dotsAt([...drawn.at].filter(function (pair) { return isDone(pair[0]); }).map(function (pair) { return pair[1]; })));
    const [x, y] = drawn.at.get(tree.pk);
    drawn.here.setAttribute("cx", x);
    drawn.here.setAttribute("cy", y);
    drawn.svg.setAttribute("aria-label", said);
    return drawn.svg;
  };
})();
