// Volts boxes: digits typed on and on fill one box after the other (391387 is 3.91 and 3.87); a line of volts is shown as cells.
// Without this script the boxes are plain inputs and the server reads the same.

// `mark` is the club's decimal sign. Volts of a whole pack (`data-whole`) are left as they are typed: 126 may be 12.6.
const asVolts = (text, mark) => {
  const typed = text.trim().replace(/[.,]/, mark);
  return /^\d{3,4}$/.test(typed) ? `${typed[0]}${mark}${typed.slice(1)}` : typed;
};

const isWhole = (typed) => /^\d[.,]\d{2,3}$/.test(typed);
const digitsOf = (text) => text.replace(/\D/g, "");
const countOfOthers = (text) => text.length - digitsOf(text).length;

// A meter shows two decimals or three, so a cell is three digits or four; up to four stay in their box. No cell has 5 V.
// What is over must come out even in one way only, or fill all boxes; else it stays whole, to be seen and refused.
function cellsOfRun(run, room, isOver) {
  const cut = (each) => run.match(new RegExp(`\\d{1,${each}}`, "g"));
  let ways = [3, 4].filter((each) => run.length > 4 && run.length <= each * room && cut(each).every((cell) => cell < "5"));
  if (isOver) ways = ways.filter((each) => run.length % each === 0);
  if (isOver && ways.length > 1) ways = ways.filter((each) => run.length === each * room);
  return ways.length > 0 ? cut(ways[0]) : [run];
}

function walk(boxes, mark) {
  // What is typed without choosing another box: it began in an empty one and may go on through the empty ones after it.
  let run = null;
  let isMoving = false;

  const put = (cells) => run.boxes.forEach((box, index) => {
    const cell = cells[index] ?? "";
    if (digitsOf(box.value) !== cell || cell.length > 2) box.value = asVolts(cell, mark);
  });
  const end = () => {
    if (run) put(cellsOfRun(digitsOf(run.boxes.map((box) => box.value).join("")), run.boxes.length, true));
    run = null;
  };
  const begin = (index) => {
    end();
    const after = boxes.slice(index);
    const filled = after.findIndex((box) => box.value !== "");
    if (filled !== 0) run = { boxes: filled < 0 ? after : after.slice(0, filled), shown: "" };
  };
  const goOnIn = (box) => {
    isMoving = true;
    if (box !== document.activeElement) box.focus();
    isMoving = false;
    run.shown = box.value;
  };
  const type = (box) => {
    if (!run) return;
    const before = run.boxes.slice(0, run.boxes.indexOf(box)).map((each) => digitsOf(each.value)).join("");
    // Whoever types the mark chooses the boxes too.
    const isMarked = countOfOthers(box.value) > countOfOthers(run.shown);
    const typed = before + (isMarked ? box.value : digitsOf(box.value));
    const cells = isMarked ? [typed] : cellsOfRun(typed, run.boxes.length, false);
    put(cells);
    goOnIn(run.boxes[cells.length - 1]);
    if (isMarked) run = null;
  };
  const press = (event, index) => {
    const isBack = event.key === "Backspace" && boxes[index].value === "";
    const to = isBack ? boxes[index - 1] : event.key === "Enter" && boxes[index + 1];
    if (!to) return;
    event.preventDefault();
    to.focus();
  };

  boxes.forEach((box, index) => {
    if (boxes[index + 1]) box.enterKeyHint = "next";
    box.addEventListener("focus", () => { if (!isMoving) begin(index); });
    box.addEventListener("click", () => begin(index));
    box.addEventListener("blur", () => {
      if (isMoving) return;
      end();
      box.value = asVolts(box.value, mark);
    });
    box.addEventListener("input", () => type(box));
    box.addEventListener("keydown", (event) => press(event, index));
  });
  // A browser may press a button without taking the focus out of the box.
  boxes[0]?.form.addEventListener("submit", end);
}

function cellsOf(line, mark, count) {
  // With points in the line, or before a space, a comma stands between cells.
  const plain = line.includes(".") ? line.replaceAll(",", " ") : line.replace(/,(?=\s|$)/g, " ");
  const words = plain.trim().split(/[\s;/|]+/).filter(Boolean);
  const isRow = words.length === 1 && /^\d+$/.test(words[0]);
  // Four digits for each cell are millivolts, three are volts.
  const cells = isRow ? words[0].match(words[0].length === 4 * count ? /\d{4}/g : /\d{1,3}/g) : words;
  // Two digits are read with the mark between them: 44 is 4.4, and shown so before it counts.
  return cells.map((cell) => asVolts(cell.replace(/^(\d)(\d)$/, `$1${mark}$2`), mark));
}

function sayCells(volts, count) {
  if (volts.length === 0) return "";
  const said = volts.map((cell, index) => `${index + 1}: ${cell}${isWhole(cell) ? "" : " ?"}`).join("   ");
  if (!count || volts.length === count) return said;
  return `${said}   (${volts.length} of ${count} cells)`;
}

for (const set of document.querySelectorAll(".volts:not([data-whole])")) {
  const mark = set.dataset.mark || ".";
  const count = Number(set.dataset.cells);
  const boxes = [...set.querySelectorAll(".boxes input")];
  walk(boxes, mark);
  const line = set.querySelector("input[name^=volts_line]");
  const output = set.querySelector("output");
  if (line && output) {
    const show = () => { output.textContent = sayCells(cellsOf(line.value, mark, count), count); };
    line.addEventListener("input", show);
    // Where the digits part has been shown above: so they are sent as cells.
    line.addEventListener("change", () => {
      const cells = cellsOf(line.value, mark, count);
      if (cells.length === count && cells.every(isWhole)) line.value = cells.join(" ");
    });
    show();
  }
}

// On a page of many packs Enter goes on to the same field of the next one; in the last it sends.
for (const form of document.querySelectorAll("form[data-goes-on]")) {
  form.addEventListener("keydown", (event) => {
    const column = event.target.name?.match(/^(volts_line|resistance)-/)?.[0];
    if (event.key !== "Enter" || !column) return;
    const fields = [...form.querySelectorAll(`input[name^="${column}"]`)];
    const next = fields[fields.indexOf(event.target) + 1];
    if (!next) return;
    event.preventDefault();
    next.focus();
  });
}
