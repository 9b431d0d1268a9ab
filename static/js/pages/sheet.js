// The one thing on a sheet that needs a script: a button that prints it.

const print = document.getElementById("print");
print.hidden = false;
print.addEventListener("click", () => window.print());
