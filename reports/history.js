// Lays the newest picture over the first and uncovers it as the slider says. Without it both stand side by side, as they do in print.
const slide = document.getElementById('slide')
if (slide !== null) {
  const share = document.getElementById('share')
  const over = document.getElementById('over')
  const show = () => {
    over.style.clipPath = `inset(0 ${100 - Number(share.value)}% 0 0)`
  }
  share.addEventListener('input', show)
  slide.hidden = false
  show()
}
