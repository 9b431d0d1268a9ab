// Runs before the first paint, so that a chosen theme does not flash the other one; and says so where the page's own
// script, or a part of it, did not come.
try {
  const theme = localStorage.getItem("theme");
  if (theme === "light" || theme === "dark") document.documentElement.dataset.theme = theme;
} catch {
  // Storage is blocked: the device's own theme stays.
}

const sentence = document.currentScript?.dataset.incomplete ?? "";
addEventListener("error", ({ target }) => {
  if (!(target instanceof HTMLScriptElement)) return;
  const say = () => {
    const notice = document.createElement("p");
    notice.className = "notice";
    notice.setAttribute("role", "alert");
    notice.textContent = sentence;
    document.getElementById("main")?.prepend(notice);
  };
  if (document.readyState === "loading") addEventListener("DOMContentLoaded", say);
  else say();
}, true);
