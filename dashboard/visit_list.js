/* The ranked list of visits. Every cell is a text node: nothing in a name or a sentence runs.
   A row's click, or its button's, tells Python which site was picked. Order, search and columns are the
   browser's own: they change what is looked at, not what is known. Where not all rows are here, Python is told what is
   looked for, and sends the first of those. */
const REST_MS = 300;  // of the keys, before Python is asked
const NUMBERS = ["value", "supply", "age"];
const FIXED = ["rank", "picture", "site", ...NUMBERS, "why"];

const make = (tag, text, name) => {
    const made = document.createElement(tag);
    if (text !== undefined && text !== null) made.textContent = text;
    if (name) made.className = name;
    return made;
};
const button = (text, name, act) => {
    const made = make("button", text, name);
    made.type = "button";
    made.addEventListener("click", act);
    return made;
};

/* the unknown stands last, whichever way the rest is ordered */
const compare = (name, down) => (one, other) => {
    const [a, b] = [one.order[name], other.order[name]];
    if (a === null || b === null) return (a === null) - (b === null);
    const difference = typeof a === "number" ? a - b : a.localeCompare(b);
    return down ? -difference : difference;
};

const cells = {
    rank: (visit) => make("td", visit.rank, "rank"),
    picture: (visit, data) => {
        const cell = make("td", null, "picture");
        const image = make("img");
        image.src = data.drawings[visit.patch];
        image.alt = "";
        cell.append(image);
        return cell;
    },
    site: (visit) => {
        const cell = make("td", null, "site");
        const name = make("button", visit.name);
        name.type = "button";
        cell.append(name, make("small", visit.district));
        return cell;
    },
    why: (visit) => {
        const cell = make("td", null, "why");
        cell.append(make("b", visit.cause), make("span", visit.evidence));
        return cell;
    },
};
const number = (visit, name, data) => {
    const cell = make("td", null, `number ${name}`);
    const known = visit[name] === data.unknown ? "unknown" : "";
    cell.append(make("small", data.heads[name], "head"), make("span", visit[name], known));
    if (name === "supply") cell.append(make("small", visit.known));
    return cell;
};
const extra = (visit, name, data) => {
    const cell = make("td", null, "extra");
    cell.append(make("small", data.extras[name], "head"), make("span", visit[name]));
    return cell;
};

export default function ({ data, parentElement, setStateValue, setTriggerValue }) {
    const place = parentElement.querySelector(".list");
    const tools = parentElement.querySelector(".tools");
    const view = (place.view ??= { count: data.step, by: "rank", down: false, find: "", extras: new Set() });
    const rows = () => {
        const wanted = view.find.trim().toLowerCase();
        return data.visits
            .filter((visit) => visit.searched.toLowerCase().includes(wanted))
            .sort(compare(view.by, view.down));
    };
    const ask = () => {
        if (data.all_here) return;
        clearTimeout(place.asking);
        const { by, down, find } = view;
        place.asking = setTimeout(() => setStateValue("asked", { by, down, find }), REST_MS);
    };
    const row = (visit) => {
        const line = make("tr");
        if (visit.site_id === data.chosen) line.setAttribute("aria-current", "true");
        for (const name of FIXED) line.append(cells[name]?.(visit, data) ?? number(visit, name, data));
        for (const name of view.extras) line.append(extra(visit, name, data));
        line.addEventListener("click", () => setTriggerValue("picked", visit.site_id));
        return line;
    };
    const head = (name) => {
        const cell = make("th", null, name + (NUMBERS.includes(name) ? " number" : ""));
        cell.scope = "col";
        if (name === "picture") return cell;
        const sorted = view.by === name;
        cell.setAttribute("aria-sort", !sorted ? "none" : view.down ? "descending" : "ascending");
        const arrow = !sorted ? "" : view.down ? " ↓" : " ↑";
        cell.append(
            button((data.heads[name] ?? data.extras[name]) + arrow, "order", () => {
                view.down = sorted ? !view.down : NUMBERS.includes(name);
                view.by = name;
                draw();
                ask();
                place.querySelector(`th.${name} button`)?.focus();
            }),
        );
        return cell;
    };
    const draw = () => {
        const found = rows();
        const table = make("table");
        table.classList.toggle("wide", view.extras.size > 0);
        const heads = make("tr");
        heads.append(...[...FIXED, ...view.extras].map(head));
        const top = make("thead");
        top.append(heads);
        const body = make("tbody");
        body.append(...found.slice(0, view.count).map(row));
        table.append(top, body);
        place.replaceChildren(table);
        if (!found.length) place.append(make("p", data.none));
        if (view.count >= found.length && data.rest) place.append(make("p", data.rest));
        if (view.count < found.length) {
            place.append(button(data.more, "more", () => {
                view.count += data.step;
                draw();
            }));
        }
    };
    const search = () => {
        const field = make("input");
        field.type = "search";
        field.placeholder = data.find;
        field.setAttribute("aria-label", data.find);
        field.value = view.find;
        field.addEventListener("input", () => {
            view.find = field.value;
            draw();
            ask();
        });
        return field;
    };
    const columns = () => {
        const box = make("details");
        box.append(make("summary", data.columns));
        for (const [name, text] of Object.entries(data.extras)) {
            const label = make("label");
            const tick = make("input");
            tick.type = "checkbox";
            tick.checked = view.extras.has(name);
            tick.addEventListener("change", () => {
                if (tick.checked) view.extras.add(name);
                else view.extras.delete(name);
                draw();
            });
            label.append(tick, text);
            box.append(label);
        }
        return box;
    };
    if (!tools.childElementCount) tools.append(search(), columns());
    draw();
}
