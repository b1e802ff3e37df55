// The page on a paired telephone: a code, then photographs one after the other.
const trouble = document.getElementById("trouble");

async function post(address, body) {
  try {
    const response = await fetch(address, { method: "POST", body });
    return response.ok ? null : (await response.json().catch(() => ({ sentence: "That was not taken." }))).sentence;
  } catch {
    return "The desk does not answer. Is the telephone in the same network?";
  }
}

document.getElementById("pair")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const said = await post("/pair", document.getElementById("code").value.trim());
  if (said) trouble.textContent = said; else location.reload();
});
document.getElementById("files")?.addEventListener("change", async (event) => {
  const place = document.getElementById("take");
  place.setAttribute("aria-busy", "true");
  trouble.textContent = "";
  for (const file of [...event.target.files]) {
    const said = await post(`/photos?shows=${encodeURIComponent(document.getElementById("shows").value)}`, file);
    const line = document.createElement("li");
    line.textContent = said ? `${file.name}: ${said}` : `${file.name} is in the record.`;
    document.getElementById("sent").prepend(line);
  }
  event.target.value = "";
  place.removeAttribute("aria-busy");
});
