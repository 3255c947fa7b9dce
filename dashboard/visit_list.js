/* The ranked list of visits. Every cell is a text node: nothing in a name or a sentence runs.
   A row's click, or its button's, tells Python which site was picked. */
export default function ({ data, parentElement, setTriggerValue }) {
    const place = parentElement.querySelector(".list");
    const make = (tag, text, name) => {
        const made = document.createElement(tag);
        if (text !== undefined && text !== null) made.textContent = text;
        if (name) made.className = name;
        return made;
    };
    const row = (visit) => {
        const line = make("tr");
        if (visit.site_id === data.chosen) line.setAttribute("aria-current", "true");
        const picture = make("td", null, "picture");
        const image = make("img");
        image.src = visit.patch;
        image.alt = "";
        picture.append(image);
        const site = make("td", null, "site");
        const button = make("button", visit.name);
        button.type = "button";
        site.append(button, make("small", visit.district));
        const why = make("td", null, "why");
        why.append(make("b", visit.cause), make("span", visit.evidence));
        line.append(make("td", visit.rank, "rank"), picture, site);
        for (const name of ["value", "supply", "age"]) {
            const cell = make("td", null, `number ${name}`);
            const known = visit[name] === data.unknown ? "unknown" : "";
            cell.append(make("small", data.heads[name], "head"), make("span", visit[name], known));
            if (name === "supply") cell.append(make("small", visit.known));
            line.append(cell);
        }
        line.append(why);
        line.addEventListener("click", () => setTriggerValue("picked", visit.site_id));
        return line;
    };
    const draw = (count) => {
        place.replaceChildren();
        const table = make("table");
        const head = make("thead");
        const heads = make("tr");
        for (const name of ["rank", "picture", "site", "value", "supply", "age", "why"]) {
            const number = ["value", "supply", "age"].includes(name) ? " number" : "";
            const cell = make("th", data.heads[name] || "", name + number);
            cell.scope = "col";
            heads.append(cell);
        }
        head.append(heads);
        const body = make("tbody");
        body.append(...data.visits.slice(0, count).map(row));
        table.append(head, body);
        place.append(table);
        if (count < data.visits.length) {
            const more = make("button", data.more, "more");
            more.type = "button";
            more.addEventListener("click", () => draw(count + data.step));
            place.append(more);
        }
        place.dataset.count = count;
    };
    draw(Math.max(data.step, Number(place.dataset.count) || 0));
}
