/* More sites than have room for a patch each: those that lie close share one, that of the site where a visit averts most,
   with their number. A click on it goes nearer; a click on a site alone picks it. */
function (map, options) {
    const told = options.labels.split(",");  // four texts a site, with no comma in them
    const label = (place) => {  // a title, which is text: nothing in it runs
        const [name, site, supply, coverage] = told.slice(4 * place, 4 * place + 4).map(decodeURIComponent);
        const texts = {name, site, supply, coverage};
        return options.label.replace(/{(\w+)}/g, (_, part) => texts[part]);
    };
    const groups = new Supercluster({
        radius: options.apart, extent: 256, maxZoom: options.nearest - 1,
        reduce: (kept, other) => { if (other.averts > kept.averts) Object.assign(kept, other); },
    });
    groups.load(options.sites.map(([longitude, latitude, drawing, averts], place) => ({
        type: "Feature", geometry: {type: "Point", coordinates: [longitude, latitude]}, properties: {place, drawing, averts},
    })));
    const alone = L.featureGroup().addTo(map);  // its clicks are told to whoever listens for picks
    const together = L.layerGroup().addTo(map);
    const marker = (spot, {place, drawing, point_count: count}) => {
        const [longitude, latitude] = spot;
        const title = count ? options.group.replace("{count}", count).replace("{label}", () => label(place)) : label(place);
        const html = options.drawings[drawing] + (count ? `<b style="${options.number}">${count}</b>` : "");
        return L.marker([latitude, longitude], {
            icon: L.divIcon({html, className: count ? "patch stack" : "patch", iconSize: [options.width, options.height]}),
            title, alt: title, riseOnHover: true, keyboard: true});
    };
    const draw = () => {
        const seen = map.getBounds().pad(0.05);
        alone.clearLayers();
        together.clearLayers();
        const box = [seen.getWest(), seen.getSouth(), seen.getEast(), seen.getNorth()];
        for (const {geometry, properties} of groups.getClusters(box, Math.round(map.getZoom()))) {
            const made = marker(geometry.coordinates, properties);
            if (!properties.cluster) {
                made.addTo(alone);
                continue;
            }
            made.on("click", () => map.setView(made.getLatLng(), groups.getClusterExpansionZoom(properties.cluster_id)));
            made.addTo(together);
        }
    };
    map.on("zoomend moveend resize", draw);
    map.whenReady(draw);
}
