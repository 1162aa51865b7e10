// Packs the strips given as JSON lines on standard input, {width, turned, pieces: [[w, l], ...]},
// with general-purpose packers, and writes for each a JSON line with the lengths that they reach.
// Packers that cannot be told a width (potpack, bin-pack) are no peers for a strip.
import { createInterface } from 'node:readline'
import { MaxRectsPacker, PACKING_LOGIC } from './node_modules/maxrects-packer/dist/maxrects-packer.mjs'
import ShelfPack from '@mapbox/shelf-pack'

const far = 1e7

function maxRects(width, turned, pieces) {
  let best = null
  for (const logic of [PACKING_LOGIC.MAX_AREA, PACKING_LOGIC.MAX_EDGE]) {
    const packer = new MaxRectsPacker(width, far, 0, { smart: false, pot: false, square: false, allowRotation: turned, logic })
    packer.addArray(pieces.map(([w, l]) => ({ width: w, height: l, x: 0, y: 0 })))
    if (packer.bins.length !== 1 || packer.bins[0].rects.length !== pieces.length) continue
    const end = Math.max(...packer.bins[0].rects.map(r => r.y + r.height))
    if (best === null || end < best) best = end
  }
  return best
}

// The shelf packer does not turn pieces; it is given them the longest first, which suits it best.
function shelves(width, pieces) {
  const packer = new ShelfPack(width, far)
  const bins = packer.pack([...pieces].sort((a, b) => b[1] - a[1]).map(([w, h]) => ({ w, h })))
  if (bins.length !== pieces.length) return null
  return Math.max(...bins.map(b => b.y + b.h))
}

for await (const line of createInterface({ input: process.stdin })) {
  const { width, turned, pieces } = JSON.parse(line)
  console.log(JSON.stringify({ maxrects: maxRects(width, turned, pieces), shelf: shelves(width, pieces) }))
}
