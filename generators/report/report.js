(() => {
  "use strict";
  const all = (query) => [...document.querySelectorAll(query)];
  const list = document.getElementById("contents");
  const wide = matchMedia("(min-width: 1080px)");
  const fold = () => { list.open = wide.matches; };
  fold();
  wide.addEventListener("change", fold);
  list.addEventListener("click", (event) => {
    if (event.target.closest("a") && !wide.matches) list.open = false;
  });
  const links = new Map(all("#contents a").map((link) => [link.hash.slice(1), link]));
  const seen = new IntersectionObserver((entries) => {
    for (const { target, isIntersecting } of entries) {
      const link = links.get(target.id);
      if (isIntersecting) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
  }, { rootMargin: "-15% 0px -75% 0px" });
  for (const section of all("main > section[id]")) if (links.has(section.id)) seen.observe(section);

  let folded = [];
  addEventListener("beforeprint", () => {
    folded = all("details:not([open])");
    for (const one of folded) one.open = true;
  });
  addEventListener("afterprint", () => {
    for (const one of folded) one.open = false;
  });
})();
