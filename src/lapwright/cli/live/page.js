"use strict";
// A phone at the wall: shows what the computer says, and never an old number as a live one.
const DASH = "--", OLD_S = 2;
const byId = (id) => document.getElementById(id);
let heard = performance.now(), source = null;

function show(said) {
  for (const [id, text] of Object.entries(said.texts)) byId(id).textContent = text;
  byId("laps").replaceChildren(...said.laps.map((text) => {
    const row = document.createElement("li");
    row.textContent = text;
    return row;
  }));
  document.body.classList.toggle("stale", !said.live);
}

function connect() {
  source = new EventSource("events");
  source.onmessage = (event) => {
    heard = performance.now();
    show(JSON.parse(event.data));
  };
}

function look() {
  const age = Math.floor((performance.now() - heard) / 1000);
  if (age < OLD_S) return;
  for (const live of document.querySelectorAll(".live")) live.textContent = live.classList.contains("bar") ? "" : DASH;
  byId("state").textContent = "NO CONNECTION";
  byId("why").textContent = `Nothing from the computer for ${age} s; trying again.`;
  document.body.classList.add("stale");
  // A browser gives up where the answer was an error.
  if (source.readyState === EventSource.CLOSED) connect();
}

connect();
setInterval(look, 500);
