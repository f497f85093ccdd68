// While one types, the form is sent as it stands, and what is said of each field comes back.
for (const form of document.querySelectorAll("form[data-check]")) {
  let waiting, asked, kept = true;
  const ask = async () => {
    asked?.abort();
    asked = new AbortController();
    const typed = new FormData(form);
    for (const [name, value] of [...typed]) if (value instanceof File) typed.delete(name);
    typed.set("do", "check");
    try {
      const answer = await fetch(form.getAttribute("action"), { method: "POST", body: typed, signal: asked.signal });
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      for (const slot of document.querySelectorAll("[data-live]")) {
        const now = fresh.getElementById(slot.id);
        if (now && now.innerHTML !== slot.innerHTML) slot.replaceChildren(...now.childNodes);
      }
    } catch (problem) { if (problem.name !== "AbortError") document.getElementById("said-count").textContent = "The page does not answer: is it still open?"; }
  };
  form.addEventListener("input", () => { kept = false; clearTimeout(waiting); waiting = setTimeout(ask, 350); });
  form.addEventListener("submit", () => { kept = true; });
  addEventListener("beforeunload", (event) => { if (!kept) event.preventDefault(); });
}

// A colour that is pointed at in the list is shown in the pictures, and the other way round.
const pictures = document.querySelectorAll("[data-seen]"), rows = document.querySelectorAll("[data-paint]");
const show = (paint) => {
  for (const one of pictures) one.src = one.dataset.seen + ".png" + (paint ? "?show=" + encodeURIComponent(paint) : "");
  for (const row of rows) row.classList.toggle("shown", row.dataset.paint === paint);
};
for (const row of rows) {
  row.addEventListener("mouseenter", () => show(row.dataset.paint));
  row.addEventListener("mouseleave", () => show(document.activeElement.closest("[data-paint]")?.dataset.paint));
  row.addEventListener("focusin", () => show(row.dataset.paint));
  row.querySelector("[name=show]").addEventListener("click", (event) => { event.preventDefault(); show(row.dataset.paint); });
}
for (const one of pictures) {
  one.addEventListener("click", async (event) => {
    event.preventDefault();
    const box = one.getBoundingClientRect();
    const place = new URLSearchParams({ x: (event.clientX - box.left) / box.width, y: (event.clientY - box.top) / box.height });
    const paint = await (await fetch(`${one.dataset.seen}/at?${place}`)).text();
    const row = [...rows].find((it) => it.dataset.paint === paint);
    if (row) row.querySelector(".field input").focus(); else show();
  });
}
