// Filters the board and keeps ages and clock times right while it hangs on a wall. The page is whole without it.
const minute = 60000
const filter = document.getElementById('filter')
const wanted = document.getElementById('wanted')
const found = document.getElementById('found')
const rows = [...document.querySelectorAll('.row')]
// A positive may stand in the drawers as well; it counts once.
const films = rows.filter(row => !row.classList.contains('drawer')).length
const folds = [...document.querySelectorAll('.rows')].map(list => list.closest('details')).filter(fold => fold !== null)

function ageOf(iso) {
  const age = Date.now() - Date.parse(iso)
  if (!Number.isFinite(age)) return 'age unknown'
  if (age < -5 * minute) return 'dated in the future'
  if (age < 2 * minute) return 'just now'
  if (age < 120 * minute) return `${Math.floor(age / minute)} min ago`
  if (age < 2880 * minute) return `${Math.floor(age / (60 * minute))} h ago`
  if (age < 86400 * minute) return `${Math.floor(age / (1440 * minute))} days ago`
  if (age < 1051200 * minute) return `${Math.floor(age / (43830 * minute))} months ago`
  return `${Math.floor(age / (525960 * minute))} years ago`
}

function freshen() {
  for (const row of rows) row.querySelector('.age').textContent = ageOf(row.querySelector('time').dateTime)
  const written = document.getElementById('written')
  document.getElementById('written-age').textContent = ageOf(written.dateTime)
}

function narrow() {
  const words = wanted.value.toLocaleLowerCase().split(/\s+/).filter(Boolean)
  let count = 0
  for (const row of rows) {
    const text = row.textContent.toLocaleLowerCase()
    const fits = words.every(word => text.includes(word))
    row.hidden = !fits
    if (fits && !row.classList.contains('drawer')) count++
  }
  if (words.length > 0) for (const fold of folds) fold.open = true
  found.textContent = words.length > 0 ? `${count} of ${films} on this page` : ''
}

if (filter !== null) {
  filter.hidden = false
  wanted.addEventListener('input', narrow)
  narrow()
}
freshen()
setInterval(
  () => {
    // Someone is looking for something: leave the page as it is.
    if (wanted?.value || document.querySelector('details[open]') || window.scrollY > 0) freshen()
    else window.location.reload()
  },
  Number(document.documentElement.dataset.refresh ?? 60) * 1000,
)
