// Before the first record of a round: its cautions, and one tap that says who has read them. Nothing waits for it.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say, button } = phone;

  function given(state) { return state.data.cautions || { wording: "", versions: [] }; }

  // The present wording in each language; a round that was fetched earlier knows that of English alone.
  function wordings(state) { return given(state).wordings || { en: given(state).wording }; }

  // Whether whoever looks has read the cautions in their present wording, in whichever language, as far as this phone knows.
  phone.hasRead = function (state) {
    const present = Object.values(wordings(state));
    return !given(state).wording || state.readings.some(function (record) { return present.includes(record.wording) && record.observer === state.round.observer; });
  };

  // What is stored and sent of it: once for a name and a wording.
  phone.cautionsRecord = function (state) {
    const { versions } = given(state), language = wordings(state)[phone.language] ? phone.language : "en", wording = wordings(state)[language];
    return { kind: "cautions", tree: "cautions/" + wording + "/" + state.round.observer, wording, language, versions, status: "", cause: "", values: {}, note: "" };
  };

  phone.cautionLines = function (state) {
    const { here, cautions, usual } = state.data.safety;
    return h("ul", {}, [...here, ...cautions, ...usual].map(function (text) { return h("li", {}, phone.marked(text)); }));
  };

  phone.cautionsScreen = function (state, act) {
    return [
      h("h2", {}, say("cautionsFirst")),
      h("p", { class: "told" }, say("stop")),
      h("section", {}, phone.cautionLines(state)),
      button(say("cautionsRead", { name: state.round.observer }), act.cautionsRead, { class: "main", id: "cautions-read" }),
      h("p", {}, button(say("cautionsLater"), act.begin, { id: "cautions-later" })),
    ];
  };
})();
