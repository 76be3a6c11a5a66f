// Volts boxes: three digits are a cell (391 is 3.91) and lead to the next box; a line of volts is shown as cells.
// Without this script the boxes are plain inputs and the server reads the same.

// `mark` is the club's decimal sign.
const asVolts = (text, mark) => {
  const typed = text.trim().replace(/[.,]/, mark);
  return /^\d{3}$/.test(typed) ? `${typed[0]}${mark}${typed.slice(1)}` : typed;
};

const isWhole = (typed) => /^\d[.,]\d\d$/.test(typed);

function walk(boxes, index, mark) {
  const box = boxes[index];
  box.addEventListener("input", (event) => {
    const volts = asVolts(box.value, mark);
    if (!isWhole(volts) || (event.inputType || "").startsWith("delete")) return;
    box.value = volts;
    const next = boxes[index + 1];
    if (next) {
      next.focus();
      next.select();
    }
  });
  box.addEventListener("keydown", (event) => {
    if (event.key !== "Backspace" || box.value !== "" || index === 0) return;
    event.preventDefault();
    boxes[index - 1].focus();
  });
}

function cellsOf(line, mark) {
  const words = line.trim().split(/[\s;/]+/).filter(Boolean);
  if (words.length === 1 && /^\d+$/.test(words[0])) return words[0].match(/\d{1,3}/g).map((cell) => asVolts(cell, mark));
  return words.map((cell) => asVolts(cell, mark));
}

function sayCells(volts, count) {
  if (volts.length === 0) return "";
  const said = volts.map((cell, index) => `${index + 1}: ${cell}${isWhole(cell) ? "" : " ?"}`).join("   ");
  if (!count || volts.length === count) return said;
  return `${said}   (${volts.length} of ${count} cells)`;
}

for (const set of document.querySelectorAll(".volts")) {
  const mark = set.dataset.mark || ".";
  const boxes = [...set.querySelectorAll(".boxes input")];
  boxes.forEach((_, index) => walk(boxes, index, mark));
  const line = set.querySelector("input[name^=volts_line]");
  const output = set.querySelector("output");
  if (line && output) {
    const show = () => { output.textContent = sayCells(cellsOf(line.value, mark), Number(set.dataset.cells)); };
    line.addEventListener("input", show);
    // Where the digits part has been shown above: so they are sent as cells.
    line.addEventListener("change", () => {
      const cells = cellsOf(line.value, mark);
      if (cells.length > 0 && cells.every(isWhole)) line.value = cells.join(" ");
    });
    show();
  }
}
