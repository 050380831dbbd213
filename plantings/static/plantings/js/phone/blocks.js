// A planting of more than a thousand trees comes block by block: which blocks are on this phone, and how they are fetched.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say, button } = phone;

  function name(round, part) { return "part/" + round.key + "/" + part.key; }

  function read(line) {
    const [key, first, last, piece, trees, left, edition] = line;
    return { key, first, last, piece, trees, left, edition };
  }

  function title(part) {
    const block = !part.first && !part.last ? say("noBlock") : part.first === part.last ? say("blockOf", { block: part.first }) : say("blocksOf", part);
    return part.piece ? say("pieceOf", { block, piece: part.piece }) : block;
  }

  phone.blocks = {
    parts: function (data) { return (data.parts || []).map(read); },

    // {key of a part: what is on this phone of it}
    load: async function (round) {
      const found = {};
      for (const part of phone.blocks.parts(round.data)) {
        const content = await phone.store.meta(name(round, part));
        if (content) found[part.key] = content;
      }
      return found;
    },

    // The round with the trees of the blocks that are there. Parts that are older than others may share a tree: it counts once.
    join: function (data, here) {
      const parts = phone.blocks.parts(data).filter(function (part) { return part.key in here; }).map(function (part) { return here[part.key]; });
      if (!parts.length) return data;
      const trees = new Map(parts.flatMap(function (part) { return part.trees; }).map(function (tree) { return [tree[0], tree]; }));
      return Object.assign({}, data, {
        trees: [...trees.values()], last: Object.assign({}, ...parts.map(function (part) { return part.last; })),
        settled: parts.flatMap(function (part) { return part.settled; }),
      });
    },

    // How many trees are left in the blocks that are not on this phone.
    leftElsewhere: function (state) {
      return phone.blocks.missing(state).reduce(function (total, part) { return total + part.left; }, 0);
    },
    missing: function (state) {
      return phone.blocks.parts(state.data).filter(function (part) { return !(part.key in state.parts); });
    },
    older: function (state) {
      return phone.blocks.parts(state.data).filter(function (part) { return part.key in state.parts && state.parts[part.key].edition !== part.edition; });
    },

    // Fetch parts of the open round in turn and store each as it comes, until another round is opened; gives the words of what went wrong, or "".
    fetch: async function (state, parts, told) {
      const { round } = state, isOpen = function () { return state.round.key === round.key; };
      for (const [number, part] of parts.entries()) {
        told(say("fetchingBlock", { block: title(part), number: number + 1, n: parts.length }));
        const answer = await phone.ask(phone.dataAddress(round) + "?part=" + encodeURIComponent(part.key) + "&days=once", { headers: round.token ? phone.linkHeaders(round.token) : {} });
        if (!isOpen()) return "";
        if (answer.status !== 200) return answer.body.error || say("noSignal");
        try {
          await phone.store.putMeta(name(round, part), answer.body);
        } catch (error) { return say("fullBlock"); }
        if (!isOpen()) return "";
        state.parts[part.key] = answer.body; // those of the moment: the round may have come again while this one did
      }
      return "";
    },

    // The part of the first screen about blocks; null for a planting that comes in one piece.
    section: function (state, act) {
      const parts = phone.blocks.parts(state.data), missing = phone.blocks.missing(state);
      if (!parts.length) return null;
      return h("section", { id: "blocks" }, h("h2", {}, say("blocks")), h("p", {}, say("blocksHere", { here: parts.length - missing.length, n: parts.length })),
        missing.length ? button(say("fetchBlocks"), function () { act.fetchBlocks(missing); }, { class: "main", id: "fetch-blocks" }) : null,
        h("ul", { class: "parts" }, parts.map(function (part) {
          const words = say("blockTrees", { block: title(part), n: part.trees });
          return h("li", {}, h("span", {}, words), part.key in state.parts ? h("span", { class: "pencil" }, say("blockHere"))
            : button(say("fetchBlock"), function () { act.fetchBlocks([part]); }, { "aria-label": say("fetchBlockOf", { block: title(part) }) }));
        })));
    },
  };
})();
