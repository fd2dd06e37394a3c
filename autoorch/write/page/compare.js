"use strict";
// Drafts of one cue side by side: grids with the differences outlined, one sound at one place, a mixed draft's command.

const { title, drafts } = read("data-compare");
const byId = (id) => document.getElementById(id);
const first = drafts[0].grid;
const number = (bar) => first.bars[bar].number;
let here = ["", 0];

/** A row of radio buttons, one a draft. */
function choice(host, name, shown, changed, labels = shown.map((draft) => draft.name)) {
  shown.forEach((draft, index) => {
    const input = make("input", { type: "radio", name, value: String(drafts.indexOf(draft)), onchange: () => changed(draft) });
    input.checked = index === 0;
    host.append(make("label", {}, input, ` ${labels[index]}`));
  });
}

byId("title").textContent = title;
byId("summary").textContent = `${drafts.length} drafts, ${first.bars.length} bars`;

// ---- the drafts
byId("drafts").append(table("One line each", ["draft", "line-up", "players", "apart by", "differs", "cost", "status", "unplayable", "risky", "style"],
  drafts.map((draft) => [draft.name, draft.grid.name, String(draft.grid.players.length), draft.label, draft.differs, String(draft.cost), `${draft.status}, gap ${draft.gap}`,
    ...["unplayable", "risky", "style"].map((kind) => String(draft.findings.filter((finding) => finding.severity === kind).length))])));

// ---- grids
const same = (data, one) => `${data.players[one.player].name}|${one.strand}|${one.octave}|${one.bars[0]}`;
drafts.forEach((draft) => {
  draft.has = new Set(draft.grid.choices.map((one) => same(draft.grid, one)));
  const host = make("div", { class: "scroll" });
  byId("grids").append(make("h3", {}, `${draft.name}: ${draft.label}`), host);
  draft.view = new Grid(host, draft.grid, {
    label: `Who plays what in ${draft.name}`,
    marked: "otherwise in another draft",
    loudest: loudest(drafts.map((one) => one.grid)),
    seek: playFrom,
    select: (player, bar) => tell(draft.grid.players[player].name, bar),
  });
});
const layers = [...new Set(drafts.flatMap((draft) => draft.grid.layers.map((layer) => layer.name)))];
function against(reference) {
  drafts.forEach((draft) => {
    const others = draft === reference ? drafts.filter((other) => other !== draft) : [reference];
    draft.view.show(layers, (one) => others.some((other) => !other.has.has(same(draft.grid, one))));
  });
}
choice(byId("against"), "against", drafts, against);
against(drafts[0]);
const roles = Object.keys(ROLES).filter((role) => drafts.some((draft) => draft.grid.choices.some((one) => one.role === role)));
byId("legend").append(legend(roles));

// ---- the chosen place in all drafts
function tell(name, bar) {
  here = [name, bar];
  byId("cell").classList.add("open");
  const parts = drafts.map((draft) => {
    const player = draft.grid.players.findIndex((one) => one.name === name);
    const found = player < 0 ? [] : draft.view.choices(player, bar);
    return make("div", { class: "choice", "data-draft": draft.name }, make("h4", {}, draft.name),
      ...(found.length ? found.map((one) => make("div", {},
        make("p", {}, roleSign(one.role, 12), ` ${one.words[0]}, ${one.words[1]}`),
        make("ul", {}, ...one.why.map((line) => make("li", { class: "why" }, line))))) : [make("p", { class: "quiet" }, player < 0 ? "not booked" : "rests")]));
  });
  byId("cell").replaceChildren(
    make("button", { type: "button", class: "close", "aria-label": "Close", onclick: () => byId("cell").classList.remove("open") }, "×"),
    make("h3", {}, `${name}, bar ${number(bar)}`), ...parts);
}
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape") byId("cell").classList.remove("open");
});

// ---- a mixed draft
const runs = first.phrases.map((phrase) => [phrase.first, phrase.last]);
const picked = runs.map(() => null);
const picks = [];
const booked = (draft) => draft.grid.players.map((player) => player.name).join("|");
byId("phrases").append(table("Bars", ["bars", "material", ...drafts.map((draft) => draft.name), "anew"], runs.map(([from, to], row) => [
  from === to ? number(from) : `${number(from)}–${number(to)}`, `${first.phrases[row].label} ${first.phrases[row].dynamic}`,
  ...[...drafts, null].map((draft) => {
    const input = make("input", { type: "radio", name: `pick-${row}`, "aria-label": `bars ${number(from)} to ${number(to)}: ${draft ? draft.name : "anew"}`,
      onchange: () => { picked[row] = draft; command(); } });
    input.checked = draft === null;
    if (draft) picks.push({ input, draft });
    return input;
  }),
])));
const quoted = (text) => (/^[\w./:-]+$/.test(text) ? text : `'${text.replaceAll("'", "'\\''")}'`);
if (new Set(drafts.map(booked)).size > 1) byId("phrases").before(make("p", { class: "quiet" }, "Bars are kept between drafts of one line-up only."));
function command() {
  const keeps = [], one = picked.find(Boolean);
  for (const { input, draft } of picks) input.disabled = Boolean(one) && booked(draft) !== booked(one);
  picked.forEach((draft, row) => {
    const last = keeps[keeps.length - 1];
    if (draft && last && last.draft === draft && last.row === row - 1) Object.assign(last, { to: runs[row][1], row });
    else if (draft) keeps.push({ draft, from: runs[row][0], to: runs[row][1], row });
  });
  byId("command").value = keeps.length
    ? `autoorch draft ${keeps.map(({ draft, from, to }) => `--keep ${quoted(`${draft.folder}:${number(from)}-${number(to)}`)}`).join(" ")} -o mixed`
    : "";
}
byId("copy").addEventListener("click", () => {
  byId("command").select();
  navigator.clipboard?.writeText(byId("command").value).catch(() => {});
});

// ---- playing and resting
const names = [...new Set(drafts.flatMap((draft) => draft.grid.players.map((player) => player.name)))];
function played(draft, name) {
  const player = draft.grid.players.findIndex((one) => one.name === name);
  if (player < 0) return null;
  let most = 0, run = 0, count = 0;
  draft.grid.bars.forEach((_, bar) => {
    const plays = draft.view.at[player][bar].length > 0;
    count += plays;
    run = plays ? 0 : run + 1;
    most = Math.max(most, run);
  });
  return [count, most];
}
byId("playing").append(table("Bars played, and the longest rest", ["player", ...drafts.map((draft) => draft.name)], names.map((name) => [name, ...drafts.map((draft) => {
  const found = played(draft, name);
  return found ? make("span", {}, gauge(found[0] / first.bars.length), ` ${found[0]}, rests ${found[1]}`) : "–";
})])));

// ---- costs, findings, what else is told
const rules = [...new Set(drafts.flatMap((draft) => draft.costs.map(([rule]) => rule)))];
const cost = (draft, rule) => (draft.costs.find(([name]) => name === rule) || ["", 0])[1];
byId("costs").append(table("Costs", ["rule", ...drafts.map((draft) => draft.name)], rules
  .filter((rule) => drafts.some((draft) => cost(draft, rule)))
  .map((rule) => [rule.replaceAll("_", " "), ...drafts.map((draft) => String(cost(draft, rule)))])));
byId("findings").append(table("Findings", ["draft", "", "bar", "part", "what"], drafts.flatMap((draft) => draft.findings.map((finding) => [
  draft.name, make("span", { class: `severity ${finding.severity}` }, finding.severity), finding.bar, finding.part, `${finding.rule}: ${finding.message}`]))));
byId("told").append(table("Told", ["draft", "what"], drafts.flatMap((draft) => draft.told.map((line) => [draft.name, line]))));

// ---- sound: one player, the place kept
const player = byId("player");
const heard = drafts.filter((draft) => draft.heard);
let sounding = heard[0];
if (sounding) {
  byId("sound").hidden = false;
  player.src = sounding.heard.source;
  player.volume = 0.5;
  choice(byId("heard"), "heard", heard, hear);
  player.addEventListener("timeupdate", () => drafts.forEach((draft) => draft.view.sound(draft === sounding && !player.ended ? barAt(draft) : -1)));
}
function barAt(draft) {
  const found = draft.heard.bars.filter(([, second]) => second <= player.currentTime + 0.02).pop();
  return found ? found[0] : -1;
}
/** Go on with another draft in the same played bar, as far inside it as before. */
function hear(draft) {
  const at = player.currentTime;
  const turn = Math.max(0, sounding.heard.bars.filter(([, second]) => second <= at + 0.02).length - 1);
  const inside = at - sounding.heard.bars[turn][1];
  const playing = !player.paused;
  sounding = draft;
  player.src = draft.heard.source;
  player.addEventListener("loadedmetadata", () => {
    player.currentTime = draft.heard.bars[turn][1] + inside;
    if (playing) player.play();
  }, { once: true });
}
function playFrom(bar) {
  const found = sounding?.heard.bars.find(([index]) => index === bar);
  if (!found) return;
  player.currentTime = found[1];
  player.play();
}

// ---- score pages
async function showPage(holder) {
  if (holder.dataset.done) return;
  holder.dataset.done = "yes";
  const drawing = new Blob([await unpack(holder.dataset.page)], { type: "image/svg+xml" });
  holder.replaceChildren(make("img", { src: URL.createObjectURL(drawing), alt: holder.dataset.said }));
}
const near = new IntersectionObserver((entries) => entries.filter((entry) => entry.isIntersecting).forEach((entry) => showPage(entry.target)), { rootMargin: "800px" });
function showScore(draft) {
  const holders = [...Array(draft.pages).keys()].map((k) => make("figure", { class: "page",
    "data-page": `page-${drafts.indexOf(draft)}-${k + 1}`, "data-said": `${draft.name}, page ${k + 1} of ${draft.pages}` }));
  byId("pages").replaceChildren(...holders);
  holders.forEach((holder) => near.observe(holder));
}
const engraved = drafts.filter((draft) => draft.pages);
if (engraved.length) {
  choice(byId("shown"), "shown", engraved, showScore);
  showScore(engraved[0]);
} else byId("score").hidden = true;

document.querySelectorAll("main > section:not([hidden])").forEach((section) => {
  byId("contents").append(make("a", { href: `#${section.id}` }, section.querySelector("h2").textContent));
});
