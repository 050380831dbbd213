// What the scripts of the phone census share: words in both languages, elements, identifiers, the worker.
(function () {
  "use strict";
  const phone = window.mastbookPhone = {};
  const read = function (id) { return JSON.parse(document.getElementById(id).dataset.json); };
  const words = read("phone-words"), KEPT = "mastbook.language";
  phone.at = read("phone-addresses");

  // -- the language --------------------------------------------------------------------------------------

  // The cookie is for the server, which answers in the same language. A browser may drop it sooner than what the page stores itself; one that
  // blocks either still shows the page, in the language it asks for.
  function keep(language) {
    const secure = window.location.protocol === "https:" ? ";secure" : "";
    try {
      document.cookie = phone.at.languageCookie + "=" + language + ";path=/;max-age=" + phone.at.languageAge + ";samesite=lax" + secure;
      window.localStorage.setItem(KEPT, language);
    } catch (error) { /* blocked */ }
  }

  function chosen() {
    try {
      const cookie = document.cookie.split("; ").find(function (one) { return one.startsWith(phone.at.languageCookie + "="); });
      return cookie ? cookie.slice(phone.at.languageCookie.length + 1) : window.localStorage.getItem(KEPT);
    } catch (error) { return null; }
  }

  // Read the page in a language from here on; without one in the language chosen before, else the first that the browser asks for.
  phone.speak = function (language) {
    const asked = language || chosen();
    const found = asked in words ? asked : (navigator.languages || []).map(function (one) { return one.slice(0, 2); }).find(function (one) { return one in words; });
    phone.language = found || "en";
    phone.other = Object.keys(words).find(function (one) { return one !== phone.language; });
    document.documentElement.lang = phone.language;
    if (asked === phone.language) keep(asked);
    document.querySelectorAll("[data-say]").forEach(function (element) { element.textContent = phone.say(element.dataset.say); });
  };

  // A number as its reader writes it.
  phone.number = function (value) { return phone.language === "fr" ? String(value).replace(".", ",") : String(value); };

  // The day of a reading or count, its last part, as its reader writes it: "2026-10-12", or "2026-10" or "2026" where no more is known. An
  // earlier page stored the day in words before it.
  phone.dayOf = function (reading) { return reading[reading.length - 1]; };
  phone.dayWords = function (reading) {
    const [year, month, day] = phone.dayOf(reading).split("-").map(Number), name = month ? words[phone.language]["months"][month - 1] : "";
    if (!day) return ((phone.language === "fr" ? name : name.slice(0, 3)) + " " + year).trim();
    return phone.language === "fr" ? (day === 1 ? "1er" : day) + " " + name + " " + year : day + " " + name.slice(0, 3) + " " + year;
  };

  // When a reading was taken, in milliseconds: the middle of its day, month or year.
  phone.timeOf = function (reading) {
    const [year, month, day] = phone.dayOf(reading).split("-").map(Number);
    return (Date.UTC(year, (month || 1) - 1, day || 1) + (day ? Date.UTC(year, month - 1, day) : Date.UTC(year, month || 12, 0))) / 2;
  };

  // What the server says of a round, in the language of the page. A round that an earlier page stored is in English only.
  phone.inWords = function (data) { return Object.assign({}, data, (data.local || {})[phone.language]); };

  // A text with its places filled in; of a pair the singular for one, in French for none as well.
  phone.say = function (name, values) {
    const given = values || {}, found = words[phone.language][name];
    const text = Array.isArray(found) ? found[given.n === 1 || (given.n === 0 && phone.language === "fr") ? 0 : 1] : found;
    return text.replace(/%\((\w+)\)s/g, function (place, key) {
      if (!(key in given)) return place;
      return typeof given[key] === "number" ? phone.number(given[key]) : String(given[key]);
    });
  };

  // An element: h("button", {class: "wide", onclick: f}, "text", child …). A value of null or false leaves an attribute out.
  phone.h = function (tag, attributes) {
    const made = /^(svg|g|path|circle|rect|polyline)$/.test(tag) ? document.createElementNS("http://www.w3.org/2000/svg", tag) : document.createElement(tag);
    Object.entries(attributes || {}).forEach(function (pair) {
      const [name, value] = pair;
      if (value === null || value === undefined || value === false) return;
      if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
      else if (name === "value") made.value = value;
      else made.setAttribute(name, value === true ? "" : String(value));
    });
    made.append(...Array.prototype.slice.call(arguments, 2).flat(Infinity).filter(function (child) { return child !== null && child !== undefined && child !== ""; }));
    return made;
  };

  // A text without signs that nobody sees, such as those a list of contacts puts around a name: the server refuses them.
  phone.seen = function (text) {
    return text.replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u061c\u180e\u200b\u200e\u200f\u202a-\u202e\u2060-\u2064\u2066-\u206f\ufeff\ufff9-\ufffb]/g, "");
  };

  // Whether two names are one: however they are spaced, and in capitals or not.
  phone.plain = function (name) { return name.normalize("NFC").toLowerCase().split(/\s+/).filter(Boolean).join(" "); };
  phone.isSame = function (one, other) { return phone.plain(one) === phone.plain(other); };

  // Words on file in English alone, on a page of another language: the mark before them, and their language for whoever hears the page.
  phone.marked = function (text) {
    const mark = phone.say("inEnglish"), at = phone.language === "en" ? -1 : text.indexOf(mark);
    return at < 0 ? text : [text.slice(0, at), phone.h("em", {}, mark), " ", phone.h("span", { lang: "en" }, text.slice(at + mark.length).trim())];
  };

  phone.button = function (text, act, attributes) {
    return phone.h("button", Object.assign({ type: "button", onclick: act }, attributes), text);
  };

  // randomUUID needs a secure address; a phone on a bare one still needs identifiers.
  phone.newUuid = function () {
    if (window.crypto.randomUUID) return window.crypto.randomUUID();
    const bytes = window.crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 15) | 64;
    bytes[8] = (bytes[8] & 63) | 128;
    const hex = Array.from(bytes, function (byte) { return byte.toString(16).padStart(2, "0"); }).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  };

  phone.isoDay = function (moment) {
    const two = function (number) { return String(number).padStart(2, "0"); };
    return String(moment.getFullYear()).padStart(4, "0") + "-" + two(moment.getMonth() + 1) + "-" + two(moment.getDate());
  };

  // Start the worker, and tell when the page works without a signal and when a newer page waits.
  phone.worker = async function (tell) {
    if (!("serviceWorker" in navigator)) return tell("bare");
    // the policy of the page lets this name alone make the address of a script, and this function one address alone
    const policy = window.trustedTypes && window.trustedTypes.createPolicy("mastbook-phone", {
      createScriptURL: function (address) {
        if (address !== phone.at.worker) throw new TypeError("not our worker");
        return address;
      },
    });
    const address = policy ? policy.createScriptURL(phone.at.worker) : phone.at.worker;
    let registered;
    try {
      registered = await navigator.serviceWorker.register(address, { scope: phone.at.home, updateViaCache: "none" });
    } catch (error) {
      return tell(navigator.onLine ? "bare" : "offline");
    }
    const waits = function (worker) { if (worker && navigator.serviceWorker.controller) tell("newer", worker); };
    waits(registered.waiting);
    registered.addEventListener("updatefound", function () {
      const fresh = registered.installing;
      fresh.addEventListener("statechange", function () { if (fresh.state === "installed") waits(fresh); });
    });
    await navigator.serviceWorker.ready;
    tell("ready");
  };

  phone.takeOver = function (worker) {
    navigator.serviceWorker.addEventListener("controllerchange", function () { window.location.reload(); });
    worker.postMessage("take over");
  };

  phone.speak();
})();
