"use strict";
// The chart library writes its styles into elements of its own. The content policy lets in only
// those that carry this page's nonce.
(() => {
  const nonce = document.currentScript.dataset.nonce;
  const create = Document.prototype.createElement;
  Document.prototype.createElement = function (name, options) {
    const made = create.call(this, name, options);
    if (String(name).toLowerCase() === "style") made.setAttribute("nonce", nonce);
    return made;
  };
})();
