// The page works without this. With it, what is typed is checked 150 ms after the last key and saved after two quiet
// seconds; an answer swaps the fragments it names, and an older one is dropped.
"use strict";
(() => {
  const root = document.documentElement;
  root.classList.add("scripted");
  const token = document.body.dataset.desk;
  const live = document.getElementById("live");
  const PAUSE = 150, QUIET = 2000, STILL = 250, TOLD = 1000, LOOK = 2000;
  const GONE = "The desk does not answer. What you type stays on this page, and what it says here is old.";
  let asked = 0, timer = 0, curing = 0, saving = 0, telling = 0, told = "", unsaved = false, busy = null;
  let stamp = document.body.dataset.stamp;
  let down = false;
  const dirty = new Map();

  const view = /(?:^|; )view=(form|both|text)(?:;|$)/.exec(document.cookie)?.[1];
  const chosen = view && document.getElementById(`view-${view}`);
  if (chosen) chosen.checked = true;

  const form = () => document.getElementById("form");
  const place = () => form()?.querySelector('[name="place"]')?.value || "";
  const asks = () => form()?.dataset.save === "asked";  // what all jobs share is saved by its own button alone

  async function post(url, data) {
    try {
      const answer = await fetch(url, { method: "POST", body: data, headers: { "X-Desk": token } });
      const text = await answer.text();
      try { return { status: answer.status, ...JSON.parse(text) }; } catch { return { status: answer.status, trouble: text }; }
    } catch { return { status: 0, trouble: GONE }; }
  }

  // ---------------------------------------------------------------- swap
  // Nothing is swapped under a press: the button would be another one before it is let go.
  async function letGo() { for (let n = 0; down && n < 40; n += 1) await new Promise((go) => setTimeout(go, 25)); }
  function keptOpen() {
    return [...document.querySelectorAll("details[open][data-keep]")].map((one) => one.dataset.keep);
  }
  // What is typed in boxes that no edit has sent yet: a reason, a name.
  function typed() {
    return [...document.querySelectorAll("#answer input")].filter((one) => one.type !== "hidden" && one.value !== one.defaultValue);
  }
  function swap(found, own, wrote = false) {
    const held = typed().map((one) => [one.form?.getAttribute("action"), one.form?.querySelector('[name$=".finding"]')?.value, one.form?.querySelector('[name$=".about"]')?.value, one.name, one.value]);
    let kept = false;
    const active = document.activeElement, id = active?.id, value = active?.value;
    const start = active?.selectionStart, end = active?.selectionEnd, open = keptOpen();
    const tops = new Map([...document.querySelectorAll(".answer, .listing, .scroll")].map((one) => [one.className, one.scrollTop]));
    for (const part of found.swap || []) {
      const old = document.getElementById(part.id);
      if (!old) continue;
      // What is being typed in stays as it is: only the messages beside it change.
      if (part.id === "file" && old.contains(active) && active.matches("textarea")) { kept = true; continue; }
      const holder = document.createElement("template");
      holder.innerHTML = part.html.trim();
      old.replaceWith(holder.content.firstElementChild);
    }
    for (const name of open) document.querySelector(`details[data-keep="${CSS.escape(name)}"]`)?.setAttribute("open", "");
    for (const [name, top] of tops) { const one = document.getElementsByClassName(name)[0]; if (one) one.scrollTop = top; }
    for (const [action, finding, about, name, value] of held) for (const one of document.querySelectorAll("#answer form")) {
      const same = one.getAttribute("action") === action && one.querySelector('[name$=".finding"]')?.value === finding && one.querySelector('[name$=".about"]')?.value === about;
      if (same) { one.elements[name].value = value; one.closest("details")?.setAttribute("open", ""); }
    }
    const now = id && document.getElementById(id);
    if (now && now !== active) {
      now.focus({ preventScroll: true });
      if (now.matches("input, textarea") && typeof value === "string" && now.type !== "radio") {
        if (dirty.has(now.name)) now.value = value;
        try { now.setSelectionRange(start, end); } catch { /* a box without a caret */ }
      }
    }
    const version = String(found.version ?? "");
    // A text that stays as it is was begun from its own older one, unless it was this text that was sent.
    if (version) for (const one of document.querySelectorAll('[name="version"]')) {
      if (one.form.getAttribute("action") === own && !(kept && !wrote && one.closest("#file"))) one.value = version;
    }
    if (found.stamp) stamp = found.stamp;
    document.getElementById("answer")?.classList.remove("stale");
    if (found.said) says(found.said);
    for (const [path, [from, to]] of Object.entries(found.lines || {})) {
      const field = document.querySelector(`[data-said="${CSS.escape(path)}"]`)?.closest(".field");
      if (field) { field.dataset.from = from; field.dataset.to = to; }
    }
    if (typeof found.saved === "boolean") unsaved = !found.saved;
    if (found.live) tell(found.live);
    lines(document.activeElement);
  }
  function says(said) {
    for (const one of document.querySelectorAll("[data-said]")) {
      const found = said[one.dataset.said], field = one.closest(".field"), box = field?.querySelector("input, select");
      if (one.dataset.text === (found ? found.join("\u0000") : "")) continue;
      one.dataset.text = found ? found.join("\u0000") : "";
      one.replaceChildren();
      field?.classList.remove("stop", "caution", "fault");
      box?.removeAttribute("aria-invalid");
      if (!found) continue;
      const [level, text, remedy] = found, words = document.createElement("span");
      words.textContent = `${{ stop: "Stop: ", caution: "Caution: ", fault: "" }[level]}${text}${level === "fault" ? " " + remedy : ""}`;
      one.append(words);
      field?.classList.add(level);
      if (level === "fault") box?.setAttribute("aria-invalid", "true");
    }
  }
  function tell(text) {
    clearTimeout(telling);
    telling = setTimeout(() => { if (text !== told) { told = text; live.textContent = text; } }, TOLD);
  }
  function lines(at) {
    const field = at?.closest?.(".field");
    for (const one of document.querySelectorAll(".line.here")) one.classList.remove("here");
    const from = Number(field?.dataset.from || 0), to = Number(field?.dataset.to || 0);
    if (!from) return;
    for (let n = from; n <= to; n += 1) document.getElementById(`L${n}`)?.classList.add("here");
    const first = document.getElementById(`L${from}`), list = first?.closest(".listing");
    if (first && list) list.scrollTop = first.offsetTop - list.offsetTop - 30;
  }

  function jet(at) {
    const name = at.closest?.(".cure")?.dataset.jet;
    for (const one of document.querySelectorAll(".beside")) one.classList.toggle("shown", one.dataset.name === name);
  }

  // ---------------------------------------------------------------- edit
  function changes(save) {
    const data = new FormData();
    data.set("place", place());
    for (const [name, value] of dirty) data.set(name, value);
    if (save) data.set("save", "yes");
    // A whole text says which one it was begun from: what changed beneath it is never written over.
    if (dirty.has("text")) data.set("version", document.querySelector('.text [name="version"]').value);
    // A place in a list is one thing in one text and another in the next.
    else if (form().elements.version && [...dirty.keys()].some((name) => name.includes("["))) data.set("version", form().elements.version.value);
    if (document.activeElement?.matches("#form input, #form select, textarea")) data.set("typing", "yes");
    return data;
  }
  async function send(save, anew = false) {
    clearTimeout(timer);
    while (busy) await busy;
    const own = form();
    if (!own || (!dirty.size && !save && !anew)) return;
    const mine = (asked += 1);
    const sent = new Map(dirty), data = changes(save);
    busy = post(own.action, data);
    const found = await busy;
    busy = null;
    if (found.swap && found.status === 200 && form() === own && own.elements.version) own.elements.version.value = String(found.version);
    if (found.swap && !found.refused) for (const [name, value] of sent) if (dirty.get(name) === value) dirty.delete(name);
    await letGo();
    if (mine !== asked) return;
    if (!found.swap) { trouble(found.trouble || GONE); return; }
    swap(found, own.getAttribute("action"), sent.has("text"));
    if (found.refused) { unsaved = true; state("Not taken"); }
    else if (!save && !asks()) { clearTimeout(saving); saving = setTimeout(() => send(true), QUIET); }
    if (found.whole === false) later(mine);
  }
  // Remedies take longer: they wait until nobody types on.
  function later(mine) { clearTimeout(curing); curing = setTimeout(() => { if (mine === asked) cure(mine); }, STILL); }
  async function cure(mine) {
    const own = form();
    const second = { job: "cures", rig: "booked", shelf: "booked", company: "booked" }[place().split(":")[0]];
    const more = own?.dataset.more || (own && second ? `/${second}/${own.dataset.file}` : "");
    if (!more) return;
    const found = await post(more, new FormData());
    await letGo();
    if (mine !== asked) return;
    if (found.swap) swap(found, own.getAttribute("action")); else trouble(found.trouble || GONE);
  }
  function trouble(text) {
    const notes = document.getElementById("notes");
    const note = document.createElement("div"), words = document.createElement("p");
    note.className = "note"; note.setAttribute("role", "alert"); words.textContent = text; note.append(words);
    notes?.replaceChildren(note);
    document.getElementById("answer")?.classList.add("stale");
    state(dirty.size ? "Not saved" : "");
  }
  function state(text) { const one = document.getElementById("state"); if (one && text) one.textContent = text; }
  async function act(button) {
    const own = button.form, data = new FormData(own);
    const first = Boolean(busy) || (dirty.size > 0 && own !== form());
    if (busy) await busy;
    if (dirty.size && own !== form()) await send(false);
    // It goes with the version it was shown with; after an edit of this page's own, with that one's.
    const same = form()?.getAttribute("action") === own.getAttribute("action") && form().elements.version;
    if (first && same && data.has("version")) data.set("version", same.value);
    data.set("place", place());
    if (button.name) data.set(button.name, button.value);
    // One button changes one thing: boxes that were not touched are not sent along.
    if (own === form()) for (const name of [...data.keys()]) if (/^[vr]:/.test(name) && !name.includes("[+]") && !dirty.has(name)) data.delete(name);
    if (!asks() && (own === form() || ["apply", "undo", "redo", "add accept"].includes(button.value))) data.set("save", "yes");
    const mine = (asked += 1), found = await post(own.action, data);
    if (!found.swap) { trouble(found.trouble || "That could not be done."); return; }
    if (!found.refused) dirty.clear();
    swap(found, own.getAttribute("action"));
    if (found.whole === false) later(mine);
  }
  // A form of questions is asked again after each answer: what was typed meanwhile stays.
  async function ask(own) {
    const sent = new FormData(own), mine = (asked += 1), found = await post(own.action, sent);
    const held = document.querySelector("form[data-asks]");
    if (mine !== asked || !found.swap || !held) return;
    const later = [...new FormData(held)].filter(([name, value]) => sent.get(name) !== value);
    swap(found, own.getAttribute("action"));
    for (const [name, value] of later) for (const one of document.getElementsByName(name)) one.value = value;
  }
  const watched = (one) => one.form?.id === "form" || one.matches?.("[data-text]");

  document.addEventListener("input", (event) => {
    const box = event.target;
    if (!watched(box) || !box.name || box.name.includes("[+]") || box.name.startsWith("n:") || box.type === "hidden") return;
    dirty.set(box.name, box.type === "checkbox" && !box.checked ? "" : box.value);
    unsaved = true;
    clearTimeout(timer); clearTimeout(saving);
    timer = setTimeout(() => send(false), box.matches("select, [type=checkbox]") ? 0 : PAUSE);
  });
  document.addEventListener("change", (event) => {
    const box = event.target, asking = box.closest?.("form[data-asks]");
    if (box.name === "view") document.cookie = `view=${box.value}; path=/; samesite=strict`;  // for the next file too
    if (box.name === "view" && asks()) send(false, true);  // the form as the text has it by now
    if (asking) ask(asking);
    if (box.dataset?.add && box.value) { box.form.querySelector(`button[value="add ${CSS.escape(box.dataset.add)}"]`); const button = [...box.form.querySelectorAll("button")].find((one) => one.value === `add ${box.dataset.add}`); if (button) act(button); }
  });
  document.addEventListener("focusout", (event) => { if (watched(event.target) && (dirty.size || unsaved)) setTimeout(() => send(!asks()), 0); });
  document.addEventListener("focusin", (event) => { lines(event.target); jet(event.target); });
  document.addEventListener("pointerdown", () => { down = true; });
  for (const kind of ["pointerup", "pointercancel"]) document.addEventListener(kind, () => { setTimeout(() => { down = false; }, 0); });
  document.addEventListener("pointerover", (event) => jet(event.target));
  document.addEventListener("submit", (event) => {
    const button = event.submitter, own = event.target;
    // What keeps or sends for good goes as it does without a script; Enter in a box only checks.
    if (!own.action.includes("/file/") && (own !== form() || button?.name)) { dirty.clear(); return; }
    event.preventDefault();
    if (button && (button.name === "do" || button.name === "save")) act(button); else send(!asks());
  });
  document.addEventListener("click", (event) => {
    if (event.target.closest?.("a.totext")) {  // the text opens here: what was typed stays in its box
      const text = document.getElementById("view-text");
      if (text) { event.preventDefault(); text.checked = true; document.getElementById("text")?.focus(); }
      return;
    }
    const to = event.target.closest?.("a.to");
    if (!to || !to.dataset.path) return;
    const said = document.querySelector(`[data-said="${CSS.escape(to.dataset.path)}"]`);
    const box = said?.closest(".field, .group, .list")?.querySelector("input, select");
    if (box) { event.preventDefault(); for (let one = box.closest("details"); one; one = one.parentElement.closest("details")) one.open = true; box.focus(); }
  });
  document.addEventListener("keydown", (event) => {
    const key = event.key.toLowerCase();
    if ((event.ctrlKey || event.metaKey) && key === "s") { event.preventDefault(); send(true); }
    if ((event.ctrlKey || event.metaKey) && key === "z" && !event.target.matches?.("textarea")) {
      const button = document.querySelector(`#head button[value="${event.shiftKey ? "redo" : "undo"}"]`);
      if (button && !button.disabled) { event.preventDefault(); act(button); }
    }
    if (event.altKey && /^[1-9]$/.test(event.key)) { const link = document.querySelectorAll(".rail li a")[Number(event.key) - 1]; if (link) { event.preventDefault(); link.click(); } }
  });
  window.addEventListener("beforeunload", (event) => { if (unsaved && dirty.size) event.preventDefault(); });

  // ---------------------------------------------------------------- look
  setInterval(async () => {
    if (document.hidden || dirty.size || busy || !form()) return;
    try {
      const answer = await fetch(`/stamp?of=${stamp}`), found = await answer.json();
      if (found.same || dirty.size || busy) return;
      if (typed().length || unsaved) trouble("Files were changed outside this page. Reload it to see them."); else location.reload();
    } catch { trouble(GONE); }
  }, LOOK);
})();
