// Draws each Gerber file named as SVG with gerber-to-svg (npm) and prints a line of JSON for each, in the order named:
// {"file", "svg"} or {"file", "error"}. For checks/compare_drawings.py, which knows where the library lies.
'use strict'

const fs = require('fs')
const path = require('path')

const [modules, ...files] = process.argv.slice(2)
const gerberToSvg = require(path.join(modules, 'gerber-to-svg'))

const draw = (file) =>
  new Promise((resolve) => {
    let settled = false
    const settle = (answer) => {
      if (!settled) resolve({ file, ...answer })
      settled = true
    }
    const text = fs.readFileSync(file, 'latin1')
    try {
      gerberToSvg(text, { id: 'layer', filetype: 'gerber' }, (error, svg) =>
        settle(error ? { error: String(error.message) } : { svg }),
      )
    } catch (error) {
      settle({ error: String(error.message) })
    }
  })

const main = async () => {
  for (const file of files) {
    process.stdout.write(JSON.stringify(await draw(file)) + '\n')
  }
}

main()
