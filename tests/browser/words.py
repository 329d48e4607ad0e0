"""Words that stand on others, on any page in a browser. No tests here.

`STACKED` is a script: a function of elements that gives the pairs of texts inside them of which one
stands on the other. The boxes of two lines may touch by what a typeface keeps free above and below
its letters. A text is not held against itself: in a drawing its letters have a box each. What lies
aslant in a plane of a picture is not held against others: the boxes round its letters are larger
than these, and `test_held_pictures` holds the slanting ones apart.
"""

STACKED = """(elements) => {
    const lines = [];
    const isAslant = (words) => words.parentElement.matches('svg [transform^="matrix"]');
    for (const element of elements) {
        const texts = document.createTreeWalker(element, NodeFilter.SHOW_TEXT);
        while (texts.nextNode()) {
            const words = texts.currentNode, range = document.createRange();
            if (!words.data.trim()) continue;
            range.selectNodeContents(words);
            for (const box of range.getClientRects()) if (box.width) lines.push([words, box]);
        }
    }
    lines.sort(([, a], [, b]) => a.top - b.top);
    const stacked = [];
    lines.forEach(([one, a], at) => {
        for (const [other, b] of lines.slice(at + 1)) {
            const free = 0.25 * Math.min(a.height, b.height);
            if (b.top > a.bottom - free) break;
            const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
            const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
            if (isAslant(one) || isAslant(other)) continue;
            if (one !== other && across > 2 && down > free) stacked.push([one.data, other.data]);
        }
    });
    return stacked;
}"""
