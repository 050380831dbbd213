// What is said at the head of the page: how many are left and not sent, one line for each matter, what waits for somebody else.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const { h, say, button, store, state } = phone;
  const element = function (id) { return document.getElementById(id); };
  const told = new Map();
  let others = [];

  // One line for each matter, and the same words once, such as when neither fetching nor sending got an answer; nothing to say takes its
  // line away. Gives the line.
  phone.tell = function (matter, words, ...more) {
    if (!told.delete(matter) && !words) return null;
    if (words) told.set(matter, h("div", { class: "told told-" + matter }, words, " ", more));
    element("said").replaceChildren(...new Map([...told.values()].map(function (line) { return [line.textContent, line]; })).values());
    return told.get(matter);
  };

  phone.tellNothing = function () {
    told.clear();
    element("said").replaceChildren();
  };

  // Whether a round is of somebody else with an account: their records wait for them.
  function isOthers(round) {
    const own = state.round && state.round.person;
    return Boolean(state.round && round.person && (!own || own.id !== round.person.id));
  }

  // What is on the phone beside the open round: read when it may have changed, not at each tap.
  phone.readOthers = async function () {
    const counts = new Map();
    const count = function (list, name) {
      list.forEach(function (one) {
        const found = counts.get(one.key) || { n: 0, photos: 0 };
        found[name] += 1;
        counts.set(one.key, found);
      });
    };
    count((await store.queue()).filter(phone.isCounted), "n");
    count(await store.photosLeft(), "photos");
    const rounds = (await store.rounds()).filter(function (round) { return counts.has(round.key) && !(state.round && state.round.key === round.key); });
    others = rounds.map(function (round) { return Object.assign({ who: isOthers(round) ? round.person.name : null }, counts.get(round.key)); });
    phone.showCounts();
    await phone.readEarlier();
  };

  phone.showCounts = function () {
    const sum = function (list, name) { return list.reduce(function (total, one) { return total + one[name]; }, 0); };
    const waiting = others.filter(function (one) { return one.who !== null; });
    if (state.round) element("left").textContent = state.leftWords(Boolean(state.tree && state.tree.plot));
    const photos = phone.photosLeft(state.photos).length;
    const left = function (here, name) { return here + sum(others, name) - sum(waiting, name); };
    const records = left(state.queue.length, "n"), pictures = left(photos, "photos");
    state.isAllSent = !records && !pictures;
    element("unsent").textContent = say("unsent", { n: records });
    element("unsent-photos").textContent = say("photosLeft", { n: pictures });
    element("unsent-photos").hidden = !pictures;
    element("send").hidden = !state.queue.length && !photos && !others.length;
    element("help").hidden = !state.round;
    phone.tell("others", waiting.length ? waiting.map(function (one) {
      return [one.n ? h("p", {}, say("unsentOf", one)) : null, one.photos ? h("p", {}, say("photosOf", { n: one.photos, who: one.who })) : null];
    }) : null);
    const refused = [["refusedCount", state.refused.length], ["photosRefused", state.photos.filter(function (photo) { return photo.state === "refused"; }).length]];
    const named = refused.filter(function (pair) { return pair[1]; });
    phone.tell("refused", named.length ? named.map(function (pair) { return button(say(pair[0], { n: pair[1] }), phone.act.refused); }) : null);
  };

  // The wording has changed since whoever looks read it: said below what is open, and asked at the next start.
  phone.tellCautions = function () {
    const isChanged = state.round.observer && state.readings.length && !phone.hasRead(state);
    phone.tell("cautions", isChanged ? say("cautionsChanged") : null, button(say("cautionsShow"), function () { phone.show("cautions"); }));
  };

  // The round takes nothing more from this phone: a link has ended, or somebody was taken off the crew.
  phone.tellEnded = function (words) {
    phone.tell("fetch", null);
    phone.tell("ended", phone.endedPart(state, words));
  };

  phone.signInLink = function () {
    return h("a", { href: phone.at.signIn + "?next=" + encodeURIComponent(window.location.pathname) }, say("signIn"));
  };
})();
