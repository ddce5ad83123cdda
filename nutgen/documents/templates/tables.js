"use strict";
// A table that is wider than its place says so for as long as it goes on to the right.
for (const place of document.querySelectorAll(".wide")) {
  const told = () => {
    place.previousElementSibling.hidden = place.scrollLeft + place.clientWidth >= place.scrollWidth - 1;
  };
  new ResizeObserver(told).observe(place);
  place.addEventListener("scroll", told, { passive: true });
}
