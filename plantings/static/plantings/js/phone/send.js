// Sends what is recorded, when it can: in batches, one tab at a time, and nobody's records as somebody else's.
(function () {
  "use strict";
  const phone = window.mastbookPhone;
  const RETRY_S = 20, TURN_S = 2;
  // How long the server may be silent: a connection that hangs would keep all that is recorded waiting until the browser gives it up, after
  // minutes. What goes up a line is allowed 2 bytes a ms beside it, and an answer that has begun three times as long.
  phone.silentMs = 60000;
  const BYTES_A_MS = 2, ANSWER_TIMES = 3;
  let timer = null;

  // The JSON answer of the server. No answer, one that does not come in time, and a page in place of JSON, are {status: 0}.
  phone.ask = async function (address, options) {
    const stop = new AbortController(), body = (options && options.body) || "", size = body.byteLength || body.length || 0;
    const limit = function (ms) { return window.setTimeout(function () { stop.abort(); }, ms); };
    let silent = limit(phone.silentMs + size / BYTES_A_MS);
    try {
      const response = await fetch(address, Object.assign({ cache: "no-store", credentials: "same-origin", redirect: "error", signal: stop.signal }, options));
      const isJson = (response.headers.get("Content-Type") || "").startsWith("application/json");
      if (!isJson) return { status: response.status === 403 ? 403 : 0, body: {} };
      window.clearTimeout(silent);
      silent = limit(ANSWER_TIMES * phone.silentMs);
      return { status: response.status, body: await response.json() };
    } catch (error) {
      return { status: 0, body: {} };
    } finally {
      window.clearTimeout(silent);
    }
  };

  phone.linkHeaders = function (token) { return { [phone.at.linkHeader]: token }; };

  // Where a round is fetched and its records go.
  phone.dataAddress = function (round) {
    if (round.token) return phone.at.linkData;
    return round.draw ? phone.at.drawData.replace(":round", round.draw) : phone.at.data.replace(":round", round.round);
  };

  // What goes over the line of a record: not what the phone alone needs.
  function over(record) {
    const { kind, wording, language, versions } = record, head = { kind, uuid: record.uuid, observer: record.observer, at: record.at, said: record.said, loaded: record.loaded };
    if (kind === "cautions") return Object.assign(head, { wording, language, versions });
    if (kind === "plot") return Object.assign(head, record.values, { plot: Number(record.tree.slice(1)), note: record.note, corrects: record.corrects });
    const { uuid, tree, status, cause, values, note, observer, at, said, loaded, corrects } = record;
    return { uuid, tree, status, cause, values, note, observer, at, said, loaded, corrects };
  }

  const closed = new Set(); // rounds that the server no longer takes from this phone

  // What to say of an answer that is not the one asked for.
  phone.refusal = function (round, answer) {
    if (answer.status === 404) closed.add(round.key);
    return answer.body.error || phone.say("noSignal");
  };

  async function sendRound(round, who) {
    // read after what is sent was taken: records of an earlier link may have been moved here meanwhile, and its token goes with them
    const headersNow = async function () { return round.token ? phone.sendingHeaders(round) : { "X-CSRFToken": who.csrf }; };
    const address = phone.dataAddress(round);
    for (;;) {
      const taken = await phone.store.take(round.key, phone.at.batch);
      if (!taken.length) return phone.sendPhotos(round, address, headersNow);
      const body = JSON.stringify({ version: phone.at.version, clock: Date.now(), records: taken.map(over) });
      const headers = Object.assign(await headersNow(), { "Content-Type": "application/json" });
      const answer = await phone.ask(address, { method: "POST", headers, body });
      if (answer.status !== 200) return phone.refusal(round, answer);
      if (!(await phone.store.answered(answer.body.answers || []))) return phone.say("noSignal");
    }
  }

  async function sendAll() {
    const left = [...(await phone.store.queue()), ...(await phone.store.photosLeft())];
    const keys = new Set(left.filter(function (one) { return one.state === "waiting"; }).map(function (one) { return one.key; }));
    const rounds = (await phone.store.rounds()).filter(function (round) { return keys.has(round.key); });
    if (!rounds.length) return { problem: "", ended: new Map() };
    let who = null, problem = "", signIn = false;
    const ended = new Map();
    if (rounds.some(function (round) { return !round.token; })) {
      const answer = await phone.ask(phone.at.ping);
      if (answer.status === 200) who = { id: answer.body.user.id, csrf: answer.body.csrf };
      else {
        problem = answer.body.error || phone.say("noSignal");
        signIn = answer.status === 401;
      }
    }
    for (const round of rounds) {
      // records of somebody who is not signed in stay here: they are counted, never sent as another's
      if (!round.token && (!who || round.person.id !== who.id)) continue;
      const words = await sendRound(round, who);
      if (words && closed.delete(round.key)) ended.set(round.key, words);
      else problem = words || problem;
    }
    return { problem, signIn, ended };
  }

  // Send everything; gives {problem, signIn, ended: {round: why it takes nothing more}}, or null while another sending runs, in this tab or another.
  phone.send = async function () {
    window.clearTimeout(timer);
    const work = async function (lock) { return lock ? sendAll() : null; };
    const result = navigator.locks ? await navigator.locks.request("mastbook-phone-send", { ifAvailable: true }, work) : await work(true);
    // what was recorded since the other sending began may not be in it
    if (!result) timer = window.setTimeout(phone.sendNow, TURN_S * 1000);
    else if (result.problem && !result.signIn) timer = window.setTimeout(phone.sendNow, RETRY_S * 1000);
    return result;
  };
})();
