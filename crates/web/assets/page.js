// Shows what is new by itself: the server says that something changed, the page is fetched again, and what differs is put
// in its place. What somebody typed or opened, where they are and what has the focus stay as they are. And takes files that
// are dropped. Without it nothing is lost but that.
(() => {
  "use strict";
  const root = document.documentElement;
  root.classList.add("script");

  // Files may be dropped where they can be chosen; those that were chosen there before stay.
  for (const place of document.querySelectorAll("[data-drop]")) {
    const field = place.querySelector("input[type=file]");
    if (!field || !window.DataTransfer) continue;
    const over = (is) => (event) => { event.preventDefault(); place.classList.toggle("is-over", is); };
    place.addEventListener("dragenter", over(true));
    place.addEventListener("dragover", over(true));
    place.addEventListener("dragleave", over(false));
    place.addEventListener("drop", (event) => {
      over(false)(event);
      const all = new DataTransfer();
      for (const file of [...field.files, ...event.dataTransfer.files]) all.items.add(file);
      field.files = all.files;
    });
  }

  const address = document.body && document.body.dataset.events;
  if (!address || !window.EventSource || !window.DOMParser) return;

  const keyOf = (node) =>
    node.nodeType === 1 ? node.dataset.key || node.dataset.keep || node.id || "" : "";

  // Whether somebody is at work in it.
  const isInUse = (node) => {
    if (node.nodeType !== 1) return false;
    if (node.contains(document.activeElement) && document.activeElement !== document.body) return true;
    const fields = node.matches("input, select, textarea") ? [node] : node.querySelectorAll("input, select, textarea");
    return [...fields].some((field) => field.type !== "hidden" &&
      (field.tagName === "SELECT"
        ? [...field.options].some((option) => option.selected !== option.defaultSelected)
        : field.value !== field.defaultValue));
  };

  const sameKind = (one, other) =>
    one.nodeType === other.nodeType && one.nodeName === other.nodeName && keyOf(one) === keyOf(other);

  const attributes = (old, fresh) => {
    for (const { name } of [...old.attributes]) {
      if (!fresh.hasAttribute(name) && !(name === "open" && old.tagName === "DETAILS")) old.removeAttribute(name);
    }
    for (const { name, value } of fresh.attributes) {
      if (name === "open" && old.tagName === "DETAILS") continue;
      if (old.getAttribute(name) !== value) old.setAttribute(name, value);
    }
  };

  // Makes one element like another, child by child.
  const become = (old, fresh) => {
    if (old.isEqualNode(fresh)) return;
    if (old.nodeType !== 1) {
      if (old.nodeValue !== fresh.nodeValue) old.nodeValue = fresh.nodeValue;
      return;
    }
    if (old.tagName === "FORM" && isInUse(old)) return;
    attributes(old, fresh);
    const keyed = new Map([...old.childNodes].filter(keyOf).map((child) => [keyOf(child), child]));
    const kept = new Set();
    let place = old.firstChild;
    for (const child of [...fresh.childNodes]) {
      const key = keyOf(child);
      let own = key ? keyed.get(key) : place;
      if (own && !sameKind(own, child)) own = null;
      if (!own) {
        const added = document.importNode(child, true);
        if (added.nodeType === 1 && added.classList.contains("task")) added.classList.add("is-new");
        old.insertBefore(added, place);
        continue;
      }
      if (key) keyed.delete(key);
      kept.add(own);
      if (own === place) place = place.nextSibling;
      // Moving what has the focus would take it away.
      else if (!isInUse(own)) old.insertBefore(own, place);
      become(own, child);
    }
    while (place) {
      const next = place.nextSibling;
      if (kept.has(place)) { place = next; continue; }
      if (!isInUse(place)) place.remove();
      else if (place.classList.contains("task") && !place.querySelector(".gone")) {
        const note = document.createElement("p");
        note.className = "gone";
        note.textContent = "This is no longer on the list.";
        place.prepend(note);
      }
      place = next;
    }
  };

  // What somebody is at work in stays where it is; where that cannot be seen, the first thing that can be.
  const anchored = (work) => {
    const at = document.activeElement && document.activeElement.closest("[data-key]");
    const box = at && at.getBoundingClientRect();
    const isAtWork = Boolean(box) && box.bottom > 0 && box.top < window.innerHeight;
    const anchor = isAtWork ? at
      : [...document.querySelectorAll("[data-key]")].find((one) => one.getBoundingClientRect().bottom > 0);
    const before = anchor && anchor.getBoundingClientRect().top;
    work();
    if (anchor && anchor.isConnected && (isAtWork || window.scrollY > 0)) {
      window.scrollBy(0, anchor.getBoundingClientRect().top - before);
    }
  };

  let isFetching = false;
  let isWanted = false;
  const refresh = async () => {
    if (document.hidden || isFetching) { isWanted = true; return; }
    isFetching = true;
    isWanted = false;
    try {
      const answer = await fetch(location.href, { headers: { Accept: "text/html" }, credentials: "same-origin" });
      if (answer.ok) {
        const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
        const tallies = document.querySelector(".tallies");
        const before = tallies && tallies.textContent;
        anchored(() => {
          for (const old of document.querySelectorAll("[data-live][id]")) {
            const same = fresh.getElementById(old.id);
            if (same) become(old, same);
          }
        });
        if (fresh.title) document.title = fresh.title;
        const after = tallies && tallies.textContent;
        const news = document.getElementById("news");
        if (news && before !== after) news.textContent = "The list is new: " + after;
      }
    } catch {
      // The server is away for a moment; the next event brings it.
    } finally {
      isFetching = false;
      if (isWanted) later();
    }
  };
  let timer = 0;
  const later = () => { clearTimeout(timer); timer = setTimeout(refresh, 400); };

  // What the page showed when it was made: what happened until this is heard is not missed.
  let seen = document.body.dataset.seen || null;
  const events = new EventSource(address);
  events.addEventListener("changed", (event) => {
    if (seen !== null && seen !== event.data) later();
    seen = event.data;
  });
  document.addEventListener("visibilitychange", () => { if (!document.hidden && isWanted) later(); });
})();
