"use strict";
// The page of one draft: fills the sections, steps through the layers, tells about the chosen cell.

const data = read("data-grid");
const report = read("data-report");
const byId = (id) => document.getElementById(id);
const players = (indices) => [...new Set(indices)].map((index) => data.players[index].name).join(", ");

function bars(list) {
  const runs = [];
  for (const bar of list) {
    const last = runs[runs.length - 1];
    if (last && last[1] === bar - 1) last[1] = bar;
    else runs.push([bar, bar]);
  }
  const number = (bar) => data.bars[bar].number;
  return (list.length > 1 ? "bars " : "bar ") + runs.map(([a, b]) => (a === b ? number(a) : `${number(a)}–${number(b)}`)).join(", ");
}

const run = (phrase) => [...Array(phrase.last - phrase.first + 1).keys()].map((k) => k + phrase.first);

/** What the plan says about colours. */
function colours(phrase) {
  const rows = [["tune", [phrase.lead]], ["with", phrase.joined], ["ground", phrase.ground], ["bass", phrase.bass], ["rest", phrase.resting], ["", [phrase.scheme]]];
  const said = rows.filter(([, list]) => list && list.some(Boolean)).map(([what, list]) => `${what} ${list.join(", ").replaceAll("_", " ")}`.trim());
  return said.length ? `; ${said.join("; ")}` : "";
}

const grid = new Grid(byId("grid"), data, { label: "Who plays what", marked: "changed by this layer", select: tell, seek: playFrom });

// ---- head
byId("title").textContent = report.title;
byId("summary").textContent = [
  report.composer, `${data.bars.length} bars for ${data.name}, ${data.players.length} players and sections`,
  `${report.status}, cost ${report.objective}, gap ${report.gap}`,
].filter(Boolean).join(" · ");
const roles = Object.keys(ROLES).filter((role) => data.choices.some((choice) => choice.role === role));
byId("legend").append(legend(roles));

// ---- layers
const names = data.layers.map((layer) => layer.name);
let step = names.length - 1;
data.layers.forEach((layer, index) => {
  const input = make("input", { type: "radio", name: "layer", value: layer.name, onchange: () => setStep(index) });
  input.checked = index === step;
  byId("layers").append(make("label", { title: layer.about }, input, ` ${layer.name}`));
});
document.querySelectorAll("input[name=mode]").forEach((input) => input.addEventListener("change", () => setStep(step)));
byId("dynamics").addEventListener("change", (event) => byId("grid").classList.toggle("plain", !event.target.checked));

function setStep(index) {
  step = Math.max(0, Math.min(names.length - 1, index));
  document.querySelectorAll("input[name=layer]")[step].checked = true;
  const alone = document.querySelector("input[name=mode]:checked").value === "alone";
  const name = names[step];
  grid.show(alone ? [name] : names.slice(0, step + 1), (choice) => choice.layer === name && step > 0);
  const [player, bar] = grid.here;
  tell(player, bar, grid.choices(player, bar));
  listChanges(name);
}

function listChanges(name) {
  byId("changes-title").textContent = `What the layer ${name} changes`;
  const rows = [];
  if (name === "plan") {
    data.phrases.forEach((phrase) => rows.push(
      `${bars(run(phrase))}: ${phrase.dynamic}, weight ${phrase.weight}${phrase.peak ? ", the peak" : ""}${colours(phrase)}`));
  }
  for (const [id, strand] of Object.entries(data.strands)) {
    if (strand.layer !== name) continue;
    const own = data.choices.filter((choice) => choice.strand === id);
    const what = strand.reason || `${strand.role} ${id}${strand.texture ? ` (${strand.texture})` : ""}`;
    if (!own.length) {
      if (name === "assigned") rows.push(`${what}: nobody`);
      continue;
    }
    const all = [...new Set(own.flatMap((choice) => choice.bars))].sort((a, b) => a - b);
    rows.push(`${what}: ${players(own.map((choice) => choice.player))}; ${bars(all)}`);
  }
  byId("changes").replaceChildren(...rows.map((row) => make("li", {}, row)));
}

document.addEventListener("keydown", (event) => {
  if (event.target.matches("input[type=text], textarea") || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "[") setStep(step - 1);
  if (event.key === "]") setStep(step + 1);
  if (event.key === "Escape") byId("cell").classList.remove("open");
});

// ---- the chosen cell
function tell(player, bar, choices) {
  const signs = grid.signs[player][bar];
  byId("cell").classList.add("open");
  const parts = [
    make("button", { type: "button", class: "close", "aria-label": "Close", onclick: () => byId("cell").classList.remove("open") }, "×"),
    make("h3", {}, `${data.players[player].name}, bar ${data.bars[bar].number}`),
    signs && choices.length ? make("p", {}, `written: ${signs}`) : null,
    choices.length ? null : make("p", {}, "rests"),
    ...choices.map((choice) => make(
      "div", { class: "choice" },
      make("h4", {}, roleSign(choice.role, 14), choice.words[0]),
      make("p", { class: "quiet" }, bars(choice.bars)),
      make("ul", {}, ...choice.words.slice(1).map((line) => make("li", {}, line)), ...choice.why.map((line) => make("li", { class: "why" }, line))),
    )),
    ...findingsAt(player, bar).map((finding) => make("p", { class: `finding ${finding.severity}` }, `${finding.severity}: ${finding.message}`)),
  ];
  byId("cell").replaceChildren(...parts.filter(Boolean));
}

function barOf(number) {
  return data.bars.findIndex((bar) => bar.number === number);
}

function playerOf(part) {
  return data.players.findIndex((player) => player.name === part || player.parts.includes(part));
}

function findingsAt(player, bar) {
  return report.findings.filter((finding) => finding.bar === data.bars[bar].number && playerOf(finding.part) === player);
}

const ROWS = 24; // so many of a list are open at first

// ---- plan
const planned = data.phrases.map((phrase) => [
  bars(run(phrase)).replace(/^bars? /, ""),
  phrase.label + (phrase.peak ? " – the peak" : ""),
  phrase.dynamic + (phrase.proposed ? " (proposed)" : ""),
  make("span", { class: "line" }, gauge(phrase.weight), ` ${phrase.weight}`),
  phrase.character, colours(phrase).slice(2), players(phrase.tune) || "–",
  phrase.moments.map((moment) => `${moment.kind} (bar ${data.bars[moment.bar].number})`).join(", "),
]);
const heads = ["bars", "material", "dynamic", "weight", "character", "planned", "has the tune", "moments"];
byId("plan").append(...folded(planned, ROWS, (rows) => table("Phrase by phrase", heads, rows)));

// ---- texture
const figures = report.texture.rows.flatMap((row) => row.figures);
const edges = report.texture.heads.map((_, k) => {
  const own = report.texture.rows.filter((row) => row.figures.length).map((row) => row.figures[k]);
  return [Math.min(...own.flatMap((each) => [each.band[0], each.own])), Math.max(...own.flatMap((each) => [each.band[1], each.own]))];
});
const textures = report.texture.rows.filter((row) => row.figures.length).map((row) => [
  bars(run({ first: row.bars[0], last: row.bars[1] })).replace(/^bars? /, ""),
  row.dynamic,
  ...row.figures.map((figure, k) => strip(figure, ...edges[k])),
]);
if (figures.length) byId("texture").append(...folded(textures, ROWS, (rows) => table("Texture by phrase", ["bars", "dynamic", ...report.texture.heads], rows)));
else byId("texture").hidden = true;

// ---- coverage
const kinds = report.fates.counts.map(([kind]) => kind);
const notes = Math.max(1, report.notes);
byId("coverage").append(
  table("Notes of the sketch", ["fate", "notes", "share"], report.fates.counts.map(([kind, count]) => [kind, String(count), make("span", { class: "line" }, gauge(count / notes), ` ${((100 * count) / notes).toFixed(1)} %`)])),
);
if (report.fates.listed.length) {
  byId("coverage").append(make("details", {}, make("summary", {}, `${report.fates.listed.length} notes not copied as they are`),
    table("Notes not copied", ["bar", "beat", "note", "fate", "players", "reason"], report.fates.listed.map(([bar, ...rest]) => [data.bars[bar].number, ...rest]))));
}

// ---- findings, costs, what else is told
if (report.findings.length) {
  const found = report.findings.map((finding) => {
    const player = playerOf(finding.part);
    const bar = barOf(finding.bar);
    const place = player >= 0 && bar >= 0 ? make("button", { type: "button", class: "link", onclick: () => grid.go(player, bar) }, finding.bar) : finding.bar;
    return [make("span", { class: `severity ${finding.severity}` }, finding.severity), place, finding.part, `${finding.rule}: ${finding.message}`, finding.source];
  });
  byId("findings").append(...folded(found, ROWS, (rows) => table("Findings", ["", "bar", "part", "what", "source"], rows)));
} else byId("findings").append(make("p", {}, "Nothing unplayable, risky or against style was found."));
const most = Math.max(1, ...report.costs.map(([, cost]) => cost));
byId("costs").append(
  make("p", {}, `${report.objective} in all; under its plan none costs less than ${report.bound}, as far as each window can see (gap ${report.gap}).` + (report.directed ? ` Preferred directions missed: ${report.directed}.` : "")),
  table("Costs", ["rule", "cost", ""], report.costs.map(([rule, cost]) => [rule.replaceAll("_", " "), String(cost), gauge(cost / most)])),
);
report.told.forEach(([title, lines]) => {
  byId("told").append(make("h3", {}, title), ...folded(lines, ROWS, (some) => make("ul", {}, ...some.map((line) => make("li", {}, line)))));
});
if (!report.told.length) byId("told").hidden = true;

// ---- score pages, unpacked when they come near, the others when the browser has time: paper takes them all
async function showPage(holder) {
  if (holder.dataset.shown) return;
  holder.dataset.shown = "yes";
  const drawing = new Blob([await unpack(`page-${holder.dataset.page}`)], { type: "image/svg+xml" });
  const image = make("img", { src: URL.createObjectURL(drawing), alt: `Score, page ${holder.dataset.page} of ${report.pages}` });
  await image.decode().catch(() => {});
  holder.replaceChildren(image);
}
const holders = [...Array(report.pages).keys()].map((k) => make("figure", { class: "page", "data-page": k + 1 }));
byId("pages").append(...holders);
if (!report.pages) byId("score").hidden = true;
const near = new IntersectionObserver((entries) => entries.filter((entry) => entry.isIntersecting).forEach((entry) => showPage(entry.target)), { rootMargin: "800px" });
holders.forEach((holder) => near.observe(holder));
(function rest([holder, ...others]) {
  if (holder) (window.requestIdleCallback ?? setTimeout)(() => showPage(holder).then(() => rest(others)));
})(holders);

// ---- sound
const player = byId("player");
if (report.heard) {
  byId("sound").hidden = false;
  player.src = report.heard.source;
  player.volume = 0.5;
  player.addEventListener("timeupdate", () => {
    const found = report.heard.bars.filter(([, second]) => second <= player.currentTime + 0.02).pop();
    grid.sound(found && !player.ended ? found[0] : -1);
  });
}
function playFrom(bar) {
  const found = report.heard?.bars.find(([index]) => index === bar);
  if (!found) return;
  player.currentTime = found[1];
  player.play();
}

// ---- contents, paper
document.querySelectorAll("main > section:not([hidden])").forEach((section) => {
  byId("contents").append(make("a", { href: `#${section.id}` }, section.querySelector("h2").textContent));
});
const ON_PAPER = 36;
window.addEventListener("beforeprint", () => grid.wrap(ON_PAPER));
window.addEventListener("afterprint", () => grid.wrap(0));
setStep(step);
byId("cell").classList.remove("open");
