// The terminal takes the keys from the start, without a click into it; and a session that ended can be opened again.
window.addEventListener("load", () => {
  const opened = new MutationObserver(() => {
    if (document.body.classList.contains("-first-byte")) {
      opened.disconnect();
      document.querySelector("#terminal textarea")?.focus();
    }
  });
  opened.observe(document.body, { attributeFilter: ["class"] });
  document.querySelector("#again").addEventListener("click", () => window.location.reload());
});
