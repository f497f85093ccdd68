// What the page does beyond its forms: it shows how far a run is, and comes back when it has ended.
const running = document.querySelector("[data-progress]");
if (running) {
  const events = new EventSource(running.dataset.progress);
  events.onmessage = (event) => { running.querySelector("[data-line]").textContent = event.data; };
  events.addEventListener("end", () => { events.close(); location.reload(); });
}

// A double click is one.
const sent = new WeakMap();
addEventListener("submit", (event) => {
  if (event.defaultPrevented) return; // by a script that sends it itself
  const { target: form, submitter: by } = event, at = Date.now(), last = sent.get(form);
  if (last?.by === by && at - last.at < 1000) event.preventDefault();
  else sent.set(form, { by, at });
});

// What may take longer than a moment says below its button that it goes on, and since when.
for (const form of document.querySelectorAll("form[data-busy]")) {
  let line, waiting, begun;
  const tell = () => {
    if (!line) {
      line = document.createElement("p");
      line.className = "busy";
      line.innerHTML = '<span class="spin" aria-hidden="true"></span><span role="status"></span> <span class="quiet" aria-hidden="true"></span>';
      form.append(line);
      line.querySelector("[role]").textContent = `${form.dataset.busy} …`;
      line.scrollIntoView({ block: "nearest" });
    }
    line.lastElementChild.textContent = `${Math.round((Date.now() - begun) / 1000)} s`;
    waiting = setTimeout(tell, 1000);
  };
  form.addEventListener("submit", () => { clearTimeout(waiting); begun = Date.now(); waiting = setTimeout(tell, 600); });
  addEventListener("pageshow", () => { clearTimeout(waiting); line?.remove(); line = undefined; }); // come back to
}
