/* The look, light or dark; the scale, in metres; where north is. Patches that would lie on each other are moved apart,
   each with a line to its own place; after every zoom anew. The chosen site's patch gets a frame.
   Enter and Space on a patch are a click. */
function (map, options) {
    document.head.append(Object.assign(document.createElement("style"), {textContent: options.style}));
    map.getContainer().style.fontFamily = "'Atkinson Hyperlegible', sans-serif";
    L.control.scale({imperial: false, position: "bottomleft"}).addTo(map);
    const north = L.control({position: "topright"});
    north.onAdd = () => {
        const sign = document.createElement("div");
        sign.textContent = `↑\n${options.north}`;
        sign.style.cssText = `white-space:pre;text-align:center;font:700 13px/1 'Atkinson Hyperlegible',sans-serif;color:var(--ink);pointer-events:none`;
        return sign;
    };
    north.addTo(map);

    const lines = L.layerGroup().addTo(map);
    const sites = () => {
        const found = [];
        map.eachLayer((layer) => {
            if (layer instanceof L.Marker && layer._icon && layer._icon.classList.contains("patch")) found.push(layer);
        });
        return found;
    };
    const names = () => {  // of districts and bases: patches keep clear of them
        const found = [];
        map.eachLayer((layer) => {
            const name = layer instanceof L.Marker && layer._icon && layer._icon.querySelector(":scope > span");
            if (!name) return;
            // from the marker, not from the map's edge: the map may be moving
            const point = map.latLngToLayerPoint(layer.getLatLng());
            const own = layer._icon.getBoundingClientRect();
            const box = name.getBoundingClientRect();
            found.push({x: point.x + box.left - own.left + box.width / 2, y: point.y + box.top - own.top + box.height / 2,
                width: box.width, height: box.height});
        });
        return found;
    };
    const free = (spot, taken) => taken.every(
        (t) => Math.abs(t.x - spot.x) >= (options.width + t.width) / 2 + 1
            || Math.abs(t.y - spot.y) >= (options.height + t.height) / 2 + 1);
    const inView = (spot) => {
        const seen = map.layerPointToContainerPoint(spot), size = map.getSize();
        return seen.x >= options.width / 2 && seen.x <= size.x - options.width / 2
            && seen.y >= options.height / 2 && seen.y <= size.y - options.height / 2;
    };
    const nearest = (point, taken) => {  // rings outwards, a few steps each; what is in view stays in it
        const anywhere = !inView(L.point(point));
        for (let ring = 0; ring <= 14; ring++) {
            for (let step = 0; step < (ring ? 16 : 1); step++) {
                const turn = 2 * Math.PI * step / 16;
                const spot = L.point(point.x + 7 * ring * Math.cos(turn), point.y + 7 * ring * Math.sin(turn));
                if (free(spot, taken) && (anywhere || inView(spot))) return spot;
            }
        }
        return point;
    };
    const apart = () => {
        lines.clearLayers();
        const taken = names();
        for (const marker of sites()) {
            const point = map.latLngToLayerPoint(marker.getLatLng());
            const spot = nearest(point, taken);
            taken.push({x: spot.x, y: spot.y, width: options.width, height: options.height});
            marker._icon.style.marginLeft = `${spot.x - point.x - options.width / 2}px`;
            marker._icon.style.marginTop = `${spot.y - point.y - options.height / 2}px`;
            if (spot.distanceTo(point) > 9) {
                L.polyline([marker.getLatLng(), map.layerPointToLatLng(spot)],
                    {color: options.ink, weight: 0.8, interactive: false}).addTo(lines);
                L.circleMarker(marker.getLatLng(),
                    {radius: 1.8, color: options.ink, weight: 0, fill: true, fillOpacity: 1, interactive: false}).addTo(lines);
            }
        }
        frame(framed);  // a group's patches are drawn anew
    };
    map.getContainer().addEventListener("keydown", (event) => {  // by itself a marker is a button for the pointer alone
        if (!["Enter", " "].includes(event.key) || !event.target.classList.contains("patch")) return;
        event.preventDefault();
        event.target.click();
    });
    let framed = null;
    const frame = (place) => {
        framed = place;
        for (const marker of sites()) {
            const here = place !== null && marker.getLatLng().equals(place);
            marker._icon.style.outline = here ? "2.5px solid var(--ink)" : "";
            marker._icon.style.outlineOffset = here ? "2px" : "";
            marker.setZIndexOffset(here ? 10000 : 0);
        }
    };
    const chosen = (event) => event.layer instanceof L.CircleMarker && event.layer.options.className === "chosen";
    map.on("layeradd", (event) => { if (chosen(event)) frame(event.layer.getLatLng()); });
    map.on("layerremove", (event) => { if (chosen(event)) frame(null); });
    let timer = null;
    const soon = () => { clearTimeout(timer); timer = setTimeout(apart, 120); };  // once, when all has come to rest
    map.on("zoomend moveend viewreset resize", soon);
    map.whenReady(soon);
    const font = (weight) => new FontFace(
        "Atkinson Hyperlegible",
        `url(/app/static/font/atkinson-hyperlegible-latin-${weight}-normal.woff2)`,
        {weight: String(weight)});
    font(400).load().then(
        (face) => { document.fonts.add(face); soon(); }, () => null);  // without it, the next typeface
}
