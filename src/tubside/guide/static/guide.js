// The answers tapped on a page, as one short text; without this script each answer has its
// letters to be read out. Nothing is kept and nothing is sent by itself.

const body = document.body;
const told = new Map();
const output = document.getElementById("short-text");

const ending = (href) => {
  const end = href.startsWith("#") ? document.getElementById(href.slice(1)) : null;
  return end === null || end.dataset.end === undefined ? null : end.dataset.end;
};

const write = (end) => {
  const numbers = [body.dataset.noDanger, body.dataset.trouble, ...told.values()];
  if (end !== null) numbers.push(end);
  const text = shortText(body.dataset.prefix, numbers.map(Number));
  if (text === null) return;
  output.textContent = text;
  document.getElementById("text").hidden = false;
  const send = document.getElementById("send");
  if (body.dataset.telephone !== undefined) {
    send.href = `sms:${body.dataset.telephone}?body=${encodeURIComponent(text)}`;
    send.hidden = false;
  }
};

for (const link of document.querySelectorAll(".answer[data-number]")) {
  link.addEventListener("click", () => {
    for (const other of link.closest(".answers").querySelectorAll(".answer")) {
      other.removeAttribute("aria-current");
    }
    link.setAttribute("aria-current", "true");
    told.delete(link.dataset.step);
    told.set(link.dataset.step, link.dataset.number);
    write(ending(link.getAttribute("href")));
  });
}
