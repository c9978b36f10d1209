// The little that makes the pages quicker. Each page works without it, and it
// keeps nothing about anybody.

const notice = document.getElementById("notice");

function say(text) {
  if (!notice) return;
  const box = document.createElement("div");
  box.className = "flash bad";
  box.append(Object.assign(document.createElement("p"), { textContent: text }));
  notice.replaceChildren(box);
}

// Fill an element with a part of a page, and keep the reader's place in it.
function swap(target, html) {
  const held = document.activeElement;
  const id = held && target.contains(held) ? held.id : "";
  const range = id && "selectionStart" in held ? [held.selectionStart, held.selectionEnd] : null;
  target.innerHTML = html;
  spread(target);
  target.querySelectorAll("form[data-dirty]").forEach(dirty);
  target.removeAttribute("aria-busy");
  const problems = target.querySelector("[data-problems]");
  const fresh = target.querySelector("[data-here]"); // what was just added
  const again = problems || fresh || (id && document.getElementById(id));
  if (again) {
    again.focus();
    if (again.id === id && range && range[0] !== null) again.setSelectionRange(...range);
  }
  tick();
}

// What an answer has for other places of the page: data-into names the element.
function spread(target) {
  for (const part of target.querySelectorAll("[data-into]")) {
    document.getElementById(part.dataset.into)?.replaceChildren(...part.childNodes);
  }
}

// Send a form for one part of the page. Answers 2xx and 422 hold that part;
// X-Location asks for another page.
async function send(form, url, target, data, signal) {
  const body = new URLSearchParams(data);
  const asks = form.getAttribute("method") === "get"; // changes nothing
  const answer = await fetch(asks ? `${url}?${body}` : url, {
    method: asks ? "GET" : "POST", body: asks ? undefined : body, signal, credentials: "same-origin",
    headers: { "X-Fragment": target.id },
  });
  const next = answer.headers.get("X-Location");
  if (next) {
    clean(form);
    location.assign(next);
    return false;
  }
  if (answer.redirected) {
    location.assign(answer.url);
    return false;
  }
  if (!answer.ok && answer.status !== 422) throw new Error(String(answer.status));
  swap(target, await answer.text());
  return answer.ok;
}

const refused = {
  401: "You are signed out. Sign in in another tab, then send again; what you typed is still here.",
  403: "This is not yours to do. Nothing was changed.",
  404: "This is no longer here. Open the page again.",
  409: "Someone changed this meanwhile. Open the page again to see how it stands.",
};
const failed = "Not sent: the shop's computer did not answer. What you typed is still here; try again.";

async function submitPart(form, submitter) {
  const target = document.getElementById(form.dataset.target);
  if (!target) return;
  rest(form);
  const data = new FormData(form, submitter); // before it is disabled, which would leave it out
  const url = submitter?.getAttribute("formaction") || form.getAttribute("action");
  if (submitter) submitter.disabled = true;
  try {
    if (await send(form, url, target, data)) clean(form);
  } catch (fault) {
    say(refused[fault.message] || failed);
  } finally {
    if (submitter) submitter.disabled = false;
  }
}

// Live totals: send what is typed after a short rest; a newer one wins.
const resting = new WeakMap();

function rest(form) {
  const last = resting.get(form);
  if (!last) return;
  clearTimeout(last.timer);
  last.abort.abort();
}

function live(form) {
  const target = document.getElementById(form.dataset.liveTarget || form.dataset.target);
  rest(form);
  if (!target) return;
  const abort = new AbortController();
  const timer = setTimeout(async () => {
    target.setAttribute("aria-busy", "true");
    try {
      await send(form, form.dataset.live, target, new FormData(form), abort.signal);
    } catch (fault) {
      if (fault.name === "AbortError") return;
      say(refused[fault.message] || "The total could not be worked out again. Check it before you send.");
      target.removeAttribute("aria-busy");
    }
  }, 250);
  resting.set(form, { timer, abort });
}

// Ask before what cannot be undone.
function ask(text, yes) {
  const box = document.createElement("dialog");
  const words = Object.assign(document.createElement("p"), { textContent: text, id: "ask" });
  const acts = Object.assign(document.createElement("form"), { method: "dialog", className: "acts" });
  for (const [value, label] of [["no", "Go back"], ["yes", yes]]) {
    acts.append(Object.assign(document.createElement("button"), { value, textContent: label }));
  }
  box.setAttribute("aria-labelledby", "ask");
  box.append(words, acts);
  document.body.append(box);
  box.showModal();
  return new Promise((done) => box.addEventListener("close", () => {
    box.remove();
    done(box.returnValue === "yes");
  }));
}

const agreed = new WeakSet();

document.addEventListener("submit", (event) => {
  const form = event.target;
  const question = event.submitter?.dataset.confirm || form.dataset.confirm;
  if (question && !agreed.delete(form)) {
    event.preventDefault();
    ask(question, event.submitter?.textContent.trim() || "Yes").then((yes) => {
      if (!yes) return;
      agreed.add(form);
      form.requestSubmit(event.submitter);
    });
    return;
  }
  if (form.dataset.target && form.getAttribute("method") === "post") {
    event.preventDefault();
    submitPart(form, event.submitter);
    return;
  }
  if (form.getAttribute("method") === "post") clean(form);
});

// A slider and the number beside it say the same.
for (const slider of document.querySelectorAll("input[data-twin]")) slider.hidden = false;

function twin(field) {
  const other = field.dataset.twin ? document.getElementById(field.dataset.twin) : document.querySelector(`input[data-twin="${field.id}"]`);
  if (other) other.value = field.value;
}

document.addEventListener("input", (event) => {
  const field = event.target;
  const form = field.form;
  if (field.dataset.twin || field.type === "number") twin(field);
  mark(field);
  if (!form) return;
  if (form.hasAttribute("data-keep")) dirty(form);
  if (form.dataset.live) live(form);
});

// A typed measure is measured; a mark beside it that says otherwise empties it.
function mark(field) {
  const measure = field.closest?.("[data-measure]");
  if (!measure) return;
  const box = measure.querySelector("input[type=text]");
  const reach = measure.querySelector("input[type=checkbox]"); // where that is the only other answer
  if (field === box && reach) {
    reach.checked &&= !box.value.trim();
  } else if (field === box) {
    measure.querySelector(box.value.trim() ? "input[value=measured]" : "input[value=not_measured]").checked = true;
  } else if (field.checked && field.value !== "measured") {
    box.value = "";
  }
}

// Unsaved changes.
const changed = new Set();

function dirty(form) {
  changed.add(form);
  form.querySelector("[data-unsaved]")?.removeAttribute("hidden");
}

function clean(form) {
  changed.delete(form);
  form.querySelector("[data-unsaved]")?.setAttribute("hidden", "");
}

addEventListener("beforeunload", (event) => {
  if ([...changed].some((form) => form.isConnected)) event.preventDefault();
});

// Running clocks show their minutes.
function tick() {
  for (const el of document.querySelectorAll("time[data-since]")) {
    const n = Math.max(0, Math.floor((Date.now() - Date.parse(el.dateTime)) / 60000));
    const h = Math.floor(n / 60), m = n % 60;
    el.textContent = h === 0 ? `${m} min` : m === 0 ? `${h} h` : `${h} h ${m} min`;
  }
}
setInterval(tick, 15000);

// "/" goes to the search field, unless something is being typed.
document.addEventListener("keydown", (event) => {
  if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.target.closest?.("input, textarea, select, [contenteditable], dialog")) return;
  const field = document.getElementById("search");
  if (!field) return;
  event.preventDefault();
  field.focus();
  field.select();
});

// A form that came back with mistakes starts at the list of them.
document.querySelector("[data-problems]")?.focus();
