// Finds the shortest strips for small pieces of whole sizes by a general-purpose solver of
// whole-number programmes (HiGHS). Each line of standard input is {width, most, pieces: [{copies,
// sizes: [[w, l], ...]}]}; each line written is the least length, at most `most`, or null.
//
// One 0-1 variable for every place of every size of a piece, one for every row of squares that is
// used; a used row covers each of its squares at most once, and rows are used from the start on.
import { createInterface } from 'node:readline'
import load from 'highs'

function programme({ width, most, pieces }) {
  const covers = Array.from({ length: most * width }, () => [])
  const names = [], rows = []
  pieces.forEach(({ copies, sizes }, i) => {
    const places = []
    sizes.forEach(([w, l], s) => {
      for (let y = 0; y + l <= most; y++) for (let x = 0; x + w <= width; x++) {
        const name = `p${i}_${s}_${x}_${y}`
        places.push(name)
        for (let v = y; v < y + l; v++) for (let u = x; u < x + w; u++) covers[v * width + u].push(name)
      }
    })
    names.push(...places)
    rows.push(`${places.join(' + ')} = ${copies}`)
  })
  covers.forEach((cover, at) => { if (cover.length > 0) rows.push(`${cover.join(' + ')} - r${Math.floor(at / width)} <= 0`) })
  const used = Array.from({ length: most }, (_, y) => `r${y}`)
  for (let y = 1; y < most; y++) rows.push(`r${y - 1} - r${y} >= 0`)
  return `Minimize\n obj: ${used.join(' + ')}\nSubject To\n${rows.map((r, i) => ` c${i}: ${r}`).join('\n')}\nBinary\n ${[...names, ...used].join('\n ')}\nEnd\n`
}

const highs = await load()
for await (const line of createInterface({ input: process.stdin })) {
  const answer = highs.solve(programme(JSON.parse(line)))
  console.log(JSON.stringify(answer.Status === 'Optimal' ? Math.round(answer.ObjectiveValue) : null))
}
