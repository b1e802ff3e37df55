// What is other than recorded, and what was typed and not taken. DOM-free.

// `recorded(name)` is the value the record has.
export function store(recorded) {
  const values = new Map();
  return {
    get(name) { return values.has(name) ? values.get(name) : recorded(name); },
    // A value as recorded is none of ours.
    set(name, value) { if (value === recorded(name) || value === "") values.delete(name); else values.set(name, value); },
    drop(name) { values.delete(name); },
    has: (name) => values.has(name),
    all: () => Object.fromEntries(values),
    // Values of parts that are tried, and settings of knobs, switches and the mains.
    tried: () => [...values].filter(([name]) => !isSetting(name)),
    settings: () => Object.fromEntries([...values].filter(([name]) => isSetting(name))),
    // Another scene: what it has not got is gone, and so is what it has recorded by now.
    keepOnly(known) { for (const [name, value] of [...values]) if (!known(name) || value === recorded(name)) values.delete(name); },
    clear() { values.clear(); },
  };
}

export const isSetting = (name) => /\.(position|closed)$/.test(name) || name === "supply.voltage";
