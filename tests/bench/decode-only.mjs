// The measure of things: sharp decodes a scan and does nothing else. `8bit`: as sharp does when nothing is said.
import sharp from 'sharp'

const [file, channels, depth] = process.argv.slice(2)
const opened = sharp(file, { limitInputPixels: false, unlimited: true })
if (depth === '8bit') await opened.raw().toBuffer()
else
  await opened
    .toColourspace(channels === '3' ? 'rgb16' : 'grey16')
    .raw({ depth: 'ushort' })
    .toBuffer()
