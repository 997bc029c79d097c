/* The code of a room that was taken along comes in the address, behind the #, where it is sent to
   nobody: it is put into its field. */
(function () {
  "use strict";

  var code = /^#(hb1\.[\w-]+\.)$/.exec(location.hash);
  var form = document.getElementById("bring-back");
  if (!code || !form) return;
  form.querySelector("textarea").value = code[1];
  history.replaceState(null, "", location.pathname);
  var button = form.querySelector("button[type=submit]");
  button.scrollIntoView({ block: "center" });
  button.focus();
})();
