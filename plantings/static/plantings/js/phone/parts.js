// What the scripts of the phone census share: words, elements, identifiers, the worker.
(function () {
  "use strict";
  const phone = window.mastbookPhone = {};
  const read = function (id) { return JSON.parse(document.getElementById(id).dataset.json); };
  const words = read("phone-words");
  phone.at = read("phone-addresses");

  // A text with its places filled in; of a pair the singular for one.
  phone.say = function (name, values) {
    const given = values || {};
    const text = Array.isArray(words[name]) ? words[name][given.n === 1 ? 0 : 1] : words[name];
    return text.replace(/%\((\w+)\)s/g, function (place, key) { return key in given ? String(given[key]) : place; });
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
})();
