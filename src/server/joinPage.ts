/** What a device of the network sees before it was let in: nothing but a place for the code. */
export const joinPage = `<!doctype html>
<html lang="en">
  <head>
    <meta charset="utf-8" />
    <meta name="viewport" content="width=device-width, initial-scale=1" />
    <title>Crankside: the code</title>
    <script src="/join.js" defer></script>
  </head>
  <body style="font: 18px system-ui, sans-serif; margin: 2rem; max-width: 30rem">
    <h1 style="font-size: 1.3rem">Crankside</h1>
    <p>Type the code that the laptop shows. This device may then look on and set marks.</p>
    <form>
      <label>Code <input name="code" autocomplete="off" autocapitalize="characters" spellcheck="false"
        maxlength="12" required style="font: inherit; letter-spacing: 0.15em; width: 11em" /></label>
      <button style="font: inherit">Join</button>
    </form>
    <p id="said" role="alert"></p>
    <noscript>The readings are drawn with a script; please allow scripts for this page.</noscript>
  </body>
</html>
`;

export const joinScript = `const form = document.querySelector("form");
const said = document.getElementById("said");
async function join(code) {
  said.textContent = "";
  try {
    const answer = await fetch("/join", { method: "POST", body: code });
    if (answer.ok) location.replace("/");
    else said.textContent = (await answer.text()).trim();
  } catch {
    said.textContent = "The laptop does not answer. Is this device in the same network?";
  }
}
form.addEventListener("submit", (event) => {
  event.preventDefault();
  join(form.elements.code.value);
});
const read = location.hash.slice(1);
if (read !== "") {
  history.replaceState(null, "", "/join");
  form.elements.code.value = read;
  join(read);
}
`;
