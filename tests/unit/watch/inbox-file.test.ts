import { describe, expect, it } from 'vitest'
import { inboxFileKind, scanOfSidecar } from '../../../src/watch/inbox-file.js'

describe('inboxFileKind', () => {
  it.each([
    'film.tif',
    'FILM.TIFF',
    'film.png',
    'film.jpg',
    'film',
    'notes.yaml',
    'film.tif.txt',
    'a b (2).tif',
    'tmp.tif',
  ])('takes %s for a scan', name => expect(inboxFileKind(name)).toBe('scan'))

  it.each(['film.tif.yaml', 'Film.TIFF.YML', 'a.b.png.yaml'])('knows the sidecar %s', name => {
    expect(inboxFileKind(name)).toBe('sidecar')
  })

  it.each([
    '.film.tif',
    '.~lock',
    '~$film.tif',
    'film.tif~',
    'film.tif.part',
    'film.TMP',
    'x.crdownload',
    'desktop.ini',
    'Thumbs.db',
    '.DS_Store',
    '._film.tif',
    'film.tif.filepart',
  ])('passes over %s', name => {
    expect(inboxFileKind(name)).toBe('ignored')
  })

  it('names the scan of a sidecar', () => {
    expect(scanOfSidecar('bold/film.tif.yaml')).toBe('bold/film.tif')
    expect(scanOfSidecar('film.tif.YML')).toBe('film.tif')
  })
})
