// Runs before the first paint, so that a chosen theme does not flash the other one.
try {
  const theme = localStorage.getItem("theme");
  if (theme === "light" || theme === "dark") document.documentElement.dataset.theme = theme;
} catch {
  // Storage is blocked: the device's own theme stays.
}
