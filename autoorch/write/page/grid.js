"use strict";
// Who plays what over the bars. `data` is what autoorch/write/page/grid.py makes; several grids can stand on one page.

/** Roles: shape and colour (Okabe and Ito's palette) tell the same. Drawn in a square of 16. */
const ROLES = {
  melody: ["#D55E00", '<circle cx="8" cy="8" r="5.5"/>'],
  counterline: ["#CC79A7", '<path d="M8 1.5 14.5 8 8 14.5 1.5 8Z"/>'],
  bass: ["#0072B2", '<rect x="2.5" y="2.5" width="11" height="11"/>'],
  pedal: ["#56B4E9", '<rect x="1" y="5.5" width="14" height="5"/>'],
  inner: ["#009E73", '<path d="M8 2 14.5 13.5H1.5Z"/>'],
  figure: ["#E69F00", '<path d="M1 4.5 4.5 1 8 6 11.5 1 15 4.5 8 14Z"/>'],
  rhythm: ["#444444", '<path d="M3.5 1 8 5.5 12.5 1 15 3.5 10.5 8 15 12.5 12.5 15 8 10.5 3.5 15 1 12.5 5.5 8 1 3.5Z"/>'],
};

/** The sign of a role as an element. */
function roleSign(role, size) {
  const [colour, shape] = ROLES[role] || ROLES.rhythm;
  const holder = document.createElement("span");
  holder.className = "sign";
  holder.innerHTML = `<svg viewBox="0 0 16 16" width="${size}" height="${size}" aria-hidden="true" fill="${colour}" stroke="#1d1b17" stroke-width=".8">${shape}</svg>`;
  return holder;
}

/** All roles with their signs, and what the row of the balance shows. */
function legend(roles) {
  return make("ul", { class: "legend" }, ...roles.map((role) => make("li", {}, roleSign(role, 14), role)),
    make("li", {}, make("span", { class: "balance key" }, make("span", { class: "tune" }), make("span", { class: "other" })),
      "balance: the tune, and the strongest other strand near it; ▾ where that covers it"));
}

/** The greatest strength in some grids' balance, for one scale. */
function loudest(grids) {
  return Math.max(1, ...grids.flatMap((data) => data.balance.filter(Boolean).flatMap((bar) => [bar.tune, bar.other])));
}

class Grid {
  /**
   * @param host element to fill
   * @param data of grid.py
   * @param settings select(player, bar, choices): a cell was chosen; seek(bar): a bar number was; label: of the
   *   table; marked: what an outline says; loudest: strength that fills a cell of the balance
   */
  constructor(host, data, settings = {}) {
    this.host = host;
    this.data = data;
    this.settings = settings;
    this.block = data.bars.length;
    this.loudest = settings.loudest || loudest([data]);
    this.here = [0, 0];
    this.cells = new Map();
    this.marked = () => false;
    this.layers = new Set(data.layers.map((layer) => layer.name));
    this.at = data.players.map(() => data.bars.map(() => []));
    data.choices.forEach((choice, index) => choice.bars.forEach((bar) => this.at[choice.player][bar].push(index)));
    this.signs = data.players.map(() => data.bars.map(() => ""));
    data.dynamics.forEach(([player, bar, sign]) => {
      const before = this.signs[player][bar];
      this.signs[player][bar] = before ? `${before} ${sign}` : sign;
    });
    host.addEventListener("keydown", (event) => this.key(event));
    this.draw();
  }

  /** Show some layers; `marked(choice)` says which choices are outlined. */
  show(layers, marked) {
    this.layers = new Set(layers);
    this.marked = marked;
    for (const [key, cell] of this.cells) {
      const [player, bar] = key.split(" ").map(Number);
      this.fill(cell, player, bar);
    }
    this.count();
  }

  /** Break the grid after so many bars (for paper); all in one row without. */
  wrap(block) {
    this.block = block || this.data.bars.length;
    this.draw();
  }

  /** Light the bar that sounds; -1 for none. */
  sound(bar) {
    this.host.querySelectorAll(".now").forEach((cell) => cell.classList.remove("now"));
    if (bar >= 0) this.host.querySelectorAll(`[data-bar="${bar}"]`).forEach((cell) => cell.classList.add("now"));
  }

  /** Go to a cell as if it had been chosen. */
  go(player, bar) {
    const cell = this.cells.get(`${player} ${bar}`);
    if (!cell) return;
    this.cells.get(this.here.join(" ")).tabIndex = -1;
    this.here = [player, bar];
    cell.tabIndex = 0;
    cell.focus();
  }

  choices(player, bar) {
    return this.at[player][bar].map((index) => this.data.choices[index]).filter((choice) => this.layers.has(choice.layer));
  }

  draw() {
    this.cells.clear();
    const bars = this.data.bars.length;
    const blocks = [];
    for (let first = 0; first < bars; first += this.block) blocks.push(this.table(first, Math.min(bars, first + this.block)));
    this.host.replaceChildren(...blocks);
    const cell = this.cells.get(this.here.join(" "));
    if (cell) cell.tabIndex = 0;
    this.count();
  }

  table(first, end) {
    const { bars, phrases, players } = this.data;
    const range = [...Array(end - first).keys()].map((k) => k + first);
    const head = (title, cells) => make("tr", {}, make("th", { scope: "row", class: "name" }, title), ...cells);
    const rows = [
      head("Letter", range.map((bar) => make("th", { class: "letter" }, bars[bar].letter))),
      head("Bar", range.map((bar) => make(
        "th", { scope: "col", class: "number", "data-bar": bar, onclick: () => this.settings.seek?.(bar) }, bars[bar].number))),
      head("Plan", phrases.filter((phrase) => phrase.last >= first && phrase.first < end).map((phrase) => {
        const span = Math.min(end - 1, phrase.last) - Math.max(first, phrase.first) + 1;
        const said = `${phrase.label} ${phrase.dynamic}${phrase.peak ? " peak" : ""}`;
        const cell = make("th", { colspan: span, class: phrase.peak ? "phrase peak" : "phrase", title: `${said}, weight ${phrase.weight}` },
          make("span", { class: "said" }, said));
        cell.style.setProperty("--weight", `${Math.round(phrase.weight * 100)}%`);
        return cell;
      })),
    ];
    let family = "";
    const body = players.map((player, index) => {
      const row = make("tr", { class: player.group === family ? "" : "first" },
        make("th", { scope: "row", class: "name", title: player.name },
          make("span", { class: "full" }, player.name), make("span", { class: "short" }, player.short)));
      family = player.group;
      for (const bar of range) {
        const cell = make("td", { role: "gridcell", tabindex: "-1", "data-bar": bar,
          onclick: () => this.go(index, bar), onfocus: () => this.chosen(index, bar) });
        this.cells.set(`${index} ${bar}`, cell);
        this.fill(cell, index, bar);
        row.append(cell);
      }
      return row;
    });
    const sums = make("tr", { class: "sums first" }, make("th", { scope: "row", class: "name" }, "Sounding"),
      ...range.map((bar) => make("td", { "data-sum": bar })));
    const weighed = this.data.balance.length ? [head("Balance", range.map((bar) => this.weighed(bar)))] : [];
    return make("table", { class: "grid", role: "grid", "aria-label": this.settings.label || this.data.name },
      make("thead", {}, ...rows), make("tbody", {}, ...body), make("tfoot", {}, sums, ...weighed));
  }

  /** A bar's strengths: the tune's column, and beside it that of the strongest other strand near it. */
  weighed(bar) {
    const found = this.data.balance[bar];
    const name = `Bar ${this.data.bars[bar].number}`;
    if (!found) return make("td", { class: "balance", title: `${name}: no tune` });
    const under = found.other > found.tune;
    const said = `${name}: tune ${found.tune.toFixed(1)}, ${found.role ? `${found.role} near it ${found.other.toFixed(1)}` : "nothing near it"}${under ? ": covered" : ""}`;
    const column = (kind, value) => {
      const drawn = make("span", { class: kind });
      drawn.style.height = `${Math.round((100 * value) / this.loudest)}%`;
      return drawn;
    };
    return make("td", { class: under ? "balance under" : "balance", title: said },
      make("span", { class: "columns", role: "img", "aria-label": said }, column("tune", found.tune), column("other", found.other)));
  }

  fill(cell, player, bar) {
    const choices = this.choices(player, bar);
    const roles = [...new Set(choices.map((choice) => choice.role))];
    const sign = this.signs[player][bar];
    const marked = choices.some((choice) => this.marked(choice));
    const starts = choices.some((choice) => choice.bars[0] === bar);
    cell.className = [roles.length ? `plays ${roles[0]}` : "", starts ? "starts" : "", marked ? "marked" : "",
      this.here[0] === player && this.here[1] === bar ? "here" : ""].filter(Boolean).join(" ");
    const name = `${this.data.players[player].name}, bar ${this.data.bars[bar].number}`;
    const said = roles.length ? roles.join(" and ") : "rests";
    cell.setAttribute("aria-label", `${name}: ${said}${sign ? `, ${sign}` : ""}${marked ? `, ${this.settings.marked}` : ""}`);
    cell.replaceChildren(...roles.slice(0, 3).map((role) => roleSign(role, roles.length > 1 ? 8 : 11)));
    if (sign && roles.length) cell.append(make("span", { class: "dynamic" }, sign));
  }

  count() {
    const most = this.data.players.length;
    this.host.querySelectorAll("[data-sum]").forEach((cell) => {
      const bar = Number(cell.dataset.sum);
      const sounding = this.data.players.filter((_, player) => this.choices(player, bar).length).length;
      cell.style.setProperty("--weight", `${Math.round((100 * sounding) / most)}%`);
      cell.title = `${sounding} of ${most} sounding`;
      cell.replaceChildren(make("span", { class: "said" }, String(sounding)));
    });
  }

  chosen(player, bar) {
    this.host.querySelectorAll(".here").forEach((cell) => cell.classList.remove("here"));
    this.cells.get(this.here.join(" ")).tabIndex = -1;
    this.here = [player, bar];
    const cell = this.cells.get(`${player} ${bar}`);
    cell.tabIndex = 0;
    cell.classList.add("here");
    this.settings.select?.(player, bar, this.choices(player, bar));
  }

  key(event) {
    if (!event.target.matches("td")) return;
    const [player, bar] = this.here;
    const bars = this.data.bars.length - 1;
    const players = this.data.players.length - 1;
    const to = {
      ArrowRight: [player, bar + 1], ArrowLeft: [player, bar - 1], ArrowDown: [player + 1, bar], ArrowUp: [player - 1, bar],
      Home: [player, 0], End: [player, bars], PageDown: [players, bar], PageUp: [0, bar],
    }[event.key];
    if (!to || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    this.go(Math.min(players, Math.max(0, to[0])), Math.min(bars, Math.max(0, to[1])));
  }
}
