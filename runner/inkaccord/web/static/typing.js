// While one types, the form is sent as it stands, and what is said of each field comes back.
for (const form of document.querySelectorAll("form[data-check]")) {
  let waiting, asked, kept = true, sending = false;
  const gone = () => { document.getElementById("said-count").textContent = "Nothing answers here any more. Is the page still open, and the order where it was? What you typed stays here: copy it."; };
  const ask = async () => {
    asked?.abort();
    asked = new AbortController();
    const typed = new FormData(form);
    for (const [name, value] of [...typed]) if (value instanceof File) typed.delete(name);
    typed.set("do", "check");
    try {
      const answer = await fetch(form.getAttribute("action"), { method: "POST", body: typed, signal: asked.signal });
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (!fresh.getElementById("said-count")) return gone();
      for (const slot of document.querySelectorAll("[data-live]")) {
        const now = fresh.getElementById(slot.id);
        if (now && now.innerHTML !== slot.innerHTML) slot.replaceChildren(...now.childNodes);
        document.getElementById(slot.id.replace("said-", ""))?.setAttribute("aria-invalid", slot.querySelector(".error") !== null);
      }
      placeLines();
      lookAgain();
    } catch (problem) { if (problem.name !== "AbortError") gone(); }
  };
  const lookAgain = () => { if (document.querySelector("[data-again]")) { clearTimeout(waiting); waiting = setTimeout(ask, 700); } }; // more comes
  const typing = () => { kept = false; clearTimeout(waiting); waiting = setTimeout(ask, 350); };
  form.addEventListener("input", typing);
  const isOther = (one) => one.type === "checkbox" ? one.checked !== one.defaultChecked : one.type !== "hidden" && one.value !== (one.defaultValue ?? one.value);
  if ([...form.elements].some(isOther)) typing(); // before we were here
  else lookAgain();
  form.addEventListener("submit", async (event) => { // sent to nobody, it would leave an empty window
    event.preventDefault();
    if (sending) return;
    sending = true;
    const { name, value } = event.submitter;
    const there = await fetch("/static/typing.js", { method: "HEAD", cache: "no-store" }).catch(() => null);
    if (!there) { sending = false; return gone(); }
    kept = true;
    form.addEventListener("formdata", ({ formData }) => formData.append(name, value), { once: true });
    form.submit();
  });
  addEventListener("pageshow", () => { sending = false; }); // come back to
  addEventListener("beforeunload", (event) => { if (!kept) event.preventDefault(); });
}

// Beside a text, what is said of a line stands at that line.
const text = document.querySelector(".numbered textarea");
function placeLines() {
  if (!text) return;
  const lines = text.value.split("\n").length, said = document.querySelectorAll("[data-line]");
  const marked = new Set([...said].map((one) => Number(one.dataset.line)));
  text.rows = lines + 1;
  document.querySelector(".numbers").replaceChildren(...Array.from({ length: lines }, (_, at) => {
    const number = document.createElement(marked.has(at + 1) ? "b" : "span");
    number.textContent = `${marked.has(at + 1) ? "▸" : ""}${at + 1}\n`;
    return number;
  }));
  const high = parseFloat(getComputedStyle(text).lineHeight), top = parseFloat(getComputedStyle(text).paddingTop);
  const list = document.querySelector(".lines"), beside = getComputedStyle(list).position === "relative";
  let free = 0;
  for (const one of list.children) {
    one.style.marginTop = "";
    if (!beside) continue;
    const wanted = top + (Number(one.dataset.line || 1) - 1) * high;
    one.style.marginTop = `${Math.max(0, wanted - free)}px`;
    free = Math.max(free, wanted) + one.offsetHeight;
  }
}
text?.addEventListener("input", placeLines);
addEventListener("resize", placeLines);
placeLines();

// A colour that is pointed at in the list is shown in the pictures, and the other way round.
const pictures = document.querySelectorAll("[data-seen]"), rows = document.querySelectorAll("[data-paint]");
const inView = new Set();
let shown = document.querySelector("[data-paint].shown")?.dataset.paint;
const draw = (one) => {
  const src = one.dataset.seen + ".png" + (shown ? "?show=" + encodeURIComponent(shown) : "");
  if (one.getAttribute("src") !== src) one.src = src;
};
const watch = new IntersectionObserver((changes) => {
  for (const { target, isIntersecting } of changes) {
    inView[isIntersecting ? "add" : "delete"](target);
    if (isIntersecting) draw(target);
  }
});
const show = (paint) => {
  if (paint === shown) return;
  shown = paint;
  inView.forEach(draw);
  for (const row of rows) row.classList.toggle("shown", row.dataset.paint === paint);
};
for (const row of rows) {
  // A row that was scrolled below a mouse at rest is not pointed at.
  row.addEventListener("mousemove", (event) => { if (event.movementX || event.movementY) show(row.dataset.paint); });
  row.addEventListener("mouseleave", () => { if (shown === row.dataset.paint) show(document.activeElement.closest("[data-paint]")?.dataset.paint); });
  for (const how of ["focusin", "click"]) row.addEventListener(how, () => show(row.dataset.paint));
  row.querySelector("[name=show]").addEventListener("click", (event) => { event.preventDefault(); show(row.dataset.paint); });
}
for (const one of pictures) {
  watch.observe(one);
  one.addEventListener("click", async (event) => {
    event.preventDefault();
    const box = one.getBoundingClientRect();
    const place = new URLSearchParams({ x: (event.clientX - box.left) / box.width, y: (event.clientY - box.top) / box.height });
    const paint = await (await fetch(`${one.dataset.seen}/at?${place}`)).text();
    const row = [...rows].find((it) => it.dataset.paint === paint);
    if (row) row.querySelector(".field input").focus(); else show();
  });
}
