// What all modules share: the sheet as last told, and the way to the server.
import { Fields } from "/forms.js";

export const $ = (id) => document.getElementById(id);
export const state = { sheet: null, key: null, values: {}, number: 0, answers: {}, socket: null };
export const space = () => state.values.space ?? {};


export const send = (what) => {
  if (state.socket?.readyState === WebSocket.OPEN) state.socket.send(JSON.stringify(what));
  else say("The page has lost its server: start cellstead page again, then load this page anew.");
};
export const set = (edits) => send({ do: "set", edits });
export const fields = new Fields(set);
let saying;
export const say = (text) => {
  $("said").textContent = text;
  $("said").hidden = !text;
  clearTimeout(saying);
  saying = setTimeout(() => { $("said").hidden = true; }, 9000);
};
export const post = async (address, body) => {
  const answer = await fetch(address, { method: "POST", body });
  const what = await answer.json();
  if (!answer.ok) throw new Error(what.text);
  return what;
};
