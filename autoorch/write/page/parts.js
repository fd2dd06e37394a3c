"use strict";
// Small parts that every page uses. Text from data only ever becomes text.

/** An element with attributes and children (elements or text). */
function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "class") element.className = value;
    else if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value !== false && value !== null) element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

/** The value of a JSON script element. */
function read(id) {
  return JSON.parse(document.getElementById(id).textContent);
}

/** The bytes of a compressed script element. */
async function unpack(id) {
  const bytes = Uint8Array.from(atob(document.getElementById(id).textContent), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Response(stream).arrayBuffer();
}

/** A table with a caption: heads, then rows of text or elements; on small screens the style may set a row as a card. */
function table(caption, heads, rows) {
  return make(
    "div", { class: "scroll", tabindex: "0", role: "region", "aria-label": caption },
    make(
      "table", { class: "list" },
      make("caption", {}, caption),
      make("thead", {}, make("tr", {}, ...heads.map((head) => make("th", { scope: "col" }, head)))),
      make("tbody", {}, ...rows.map((row) => make("tr", {}, ...row.map((cell, column) => make("td", { "data-head": heads[column] }, cell))))),
    ),
  );
}

/** Rows set by `shown`, those behind the first `most` folded away until they are asked for, or until paper wants them. */
function folded(rows, most, shown) {
  const rest = rows.slice(most);
  if (!rest.length) return [shown(rows)];
  return [shown(rows.slice(0, most)), make("details", { class: "more" }, make("summary", {}, `${rest.length} more`), shown(rest))];
}
window.addEventListener("beforeprint", () => document.querySelectorAll("details.more").forEach((rest) => { rest.open = true; }));

/** A bar whose length says a share (0 to 1) of the most. */
function gauge(share) {
  const inner = make("span", { class: "gauge" });
  inner.style.width = `${share ? Math.max(1, Math.round(share * 100)) : 0}%`;
  return make("span", { class: "gauge-room", "aria-hidden": "true" }, inner);
}

/** Where a figure lies: the band, and a stroke for what is this draft's own, on a scale from low to high. */
function strip(figure, low, high) {
  const at = (value) => (high > low ? (100 * (value - low)) / (high - low) : 50);
  const [first, last] = figure.band;
  const band = make("span", { class: "band" });
  band.style.left = `${at(first)}%`;
  band.style.width = `${at(last) - at(first)}%`;
  const outside = figure.own < first || figure.own > last;
  const stroke = make("span", { class: outside ? "stroke outside" : "stroke" });
  stroke.style.left = `${at(figure.own)}%`;
  const title = `${figure.said[0]}; the repertoire: ${figure.said[1]} to ${figure.said[2]}; inside ${Math.round(100 * figure.inside)} % of the time`;
  return make("span", { class: "line", title }, make("span", { class: "strip", "aria-hidden": "true" }, band, stroke), ` ${figure.said[0]}`);
}
