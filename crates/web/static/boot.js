// Starts the app; everything else is in the wasm module.
import init from "./goldward_web.js";
init({ module_or_path: new URL("./goldward_web_bg.wasm", import.meta.url) }).catch((error) => {
  document.getElementById("starting").textContent = "Goldward could not start: " + error;
});
