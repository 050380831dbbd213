// What is looked at on the phone before a record closes. The limits come with the round, from the table of measurements; the server checks again.
(function () {
  "use strict";
  const phone = window.mastbookPhone;

  // The value of a box: {value} (null for a blank), or {fault} in words.
  phone.reading = function (item, text) {
    const typed = text.trim().replace(",", ".");
    if (typed === "") return { value: null };
    if (item.classes.length) {
      const found = item.classes.find(function (one) { return String(one[0]) === typed; });
      return { value: found ? found[0] : null };
    }
    const isUnclear = /^\d+,\d{3}$/.test(text.trim()); // 1,204 is a thousand to one person and one to another
    if (isUnclear || !/^\d+(\.\d*)?$|^\.\d+$/.test(typed)) return { fault: phone.say("notNumber") };
    const value = Number(typed);
    if (item.whole && !Number.isInteger(value)) return { fault: phone.say("notWhole") };
    if (value < item.low || value > item.high) return { fault: phone.say("outside", item) };
    return { value };
  };

  function explained(data, record, byDamage) {
    if (record.status === "AR") return true;
    return byDamage && data.asked.some(function (item) {
      return item.explains && item.field in record.values && record.values[item.field] !== item.nothing;
    });
  }

  // The units that were mixed up, or "tenfold" for what is not a length; null for neither.
  function slip(data, item, value, last) {
    if (value <= 0) return null;
    const ratio = value >= last ? value / last : last / value;
    const [tolerance, slips, tenfold] = data.slips;
    if (item.isLength === false) return Math.abs(ratio / tenfold - 1) <= tolerance ? "tenfold" : null;
    const found = slips.find(function (one) { return Math.abs(ratio / one[0] - 1) <= tolerance; });
    return found ? found[1] : null;
  }

  // [last status, {field: [value, day]}] of a tree. A day that all its readings have may be written once, behind them.
  phone.lastOf = function (data, pk) {
    const last = data.last[pk];
    if (!last || last.length < 3) return last;
    return [last[0], Object.fromEntries(Object.entries(last[1]).map(function (pair) { return [pair[0], [pair[1], last[2]]]; }))];
  };

  // What is odd about a record beside the last of the same tree: [{field, kind, words}]. It asks, and never blocks.
  phone.odd = function (data, record, today) {
    const last = phone.lastOf(data, record.tree);
    if (!last) return [];
    const found = [];
    if (data.kinds.alive.includes(record.status) && data.kinds.ended.includes(last[0])) {
      found.push({ field: "status", kind: "revived", words: phone.say("revived", { status: phone.statusWord(data, last[0]) }) });
    }
    data.asked.forEach(function (item) {
      const value = record.values[item.field];
      const reading = last[1][item.field];
      if (!item.growth || value === undefined || !reading || !reading[0]) return;
      const [loss, lossShare, gainAYear, byDamage] = item.growth;
      const change = value - reading[0];
      if (change < 0 && explained(data, record, byDamage)) return;
      const years = Math.max((new Date(today) - phone.timeOf(reading)) / 86400000 / 365.25, 1);
      const units = slip(data, item, value, reading[0]);
      const grown = record.status === data.kinds.dead && change > loss;
      const kind = grown ? "grown" : units === "tenfold" ? units : units ? "slip" : -change > loss && -change > lossShare * reading[0] ? (item.isOwn ? "lessOwn" : "less") : gainAYear !== null && change > gainAYear * years ? "more" : "";
      if (kind) found.push({ field: item.field, kind, words: phone.say(kind, { label: item.label, value, last: reading[0], unit: item.unit, units }) });
    });
    return found;
  };

  // What is odd about the count of a plot: [{field, words}], as `count_looks` of the server has it. It asks, and never blocks.
  phone.oddCount = function (data, plot, values, note) {
    const last = (data.lastCounts || {})[plot.plot], [fewest, percent] = data.countLeap || [], { alive, dead } = values, { planted } = plot;
    if (!percent) return []; // a round that an earlier page fetched
    const found = [], isSown = data.sown.includes(plot.plot), sum = alive + dead;
    const ask = function (field, name, given) { found.push({ field, words: phone.say(name, Object.assign({ alive, dead, planted, sum }, given)) }); };
    if (last) {
      const change = Math.abs(alive - last[0]), before = last[0] + last[1];
      if (change >= fewest && 100 * change > percent * last[0]) ask("alive", "countLeap", { last: last[0] });
      else if (alive > last[0] && !note) ask("alive", "countRise", { last: last[0] });
      else if (isSown && sum > before && !note) ask("dead", "countMore", { before });
    }
    if (planted === undefined) return found; // nobody knows the number planted: nothing can be missing
    const missing = planted - alive - Math.max(dead, last ? last[1] : 0), known = last ? Math.max(planted - last[0] - last[1], 0) : 0;
    if (!isSown && !note && missing > known) ask("dead", "countMissing", { missing });
    return found;
  };

  phone.statusWord = function (data, code) {
    const found = data.statuses.find(function (one) { return one[0] === code; });
    return found ? found[1] : code;
  };
})();
