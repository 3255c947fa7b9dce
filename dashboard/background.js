/* The user's own background map under the shapes, and a box to switch it off, which the next map of this tab heeds. */
function (map, options) {
    const WIDER = 2;  // zooms below the file's own, where its tiles are drawn small: below them, too many
    const layer = L.tileLayer(options.address, {
        bounds: options.bounds, minZoom: options.minNativeZoom - WIDER, maxZoom: map.getMaxZoom(),
        minNativeZoom: options.minNativeZoom, maxNativeZoom: options.maxNativeZoom, opacity: 0.75});
    // at a zoom between two, tiles that only touch leave a line of ground between them: they overlap by a point
    layer.on("tileloadstart", ({tile}) => Object.assign(tile.style, {width: "257px", height: "257px", mixBlendMode: "normal"}));
    const box = document.createElement("input");
    box.type = "checkbox";
    box.checked = sessionStorage.getItem("sunrill.background") !== "off";
    const show = () => {
        if (box.checked) layer.addTo(map);
        else layer.remove();
        map.eachLayer((shape) => {
            if (shape instanceof L.Polygon) shape.setStyle({fillOpacity: box.checked ? 0 : options.fill});
        });
    };
    box.addEventListener("change", () => {
        sessionStorage.setItem("sunrill.background", box.checked ? "on" : "off");
        show();
    });
    const control = L.control({position: "bottomright"});
    control.onAdd = () => {
        const label = document.createElement("label");
        label.style.cssText = `background:${options.paper};padding:2px 8px 2px 4px;font:13px/1.5 'Atkinson Hyperlegible',sans-serif;cursor:pointer`;
        label.append(box, " " + options.label);
        L.DomEvent.disableClickPropagation(label);
        return label;
    };
    control.addTo(map);
    show();
}
