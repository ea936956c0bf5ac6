/**
 * The camera inside the page, with a see-through copy of the before photo over what it sees, so that the after
 * photo is taken from the same place. Where the page may have no camera, the caller opens the phone's own.
 */
import { photoUrl } from './ask.js';
import { make } from './make.js';
import { showDialog } from './page.js';
import { say } from './words.js';

/** @typedef {import('./types/Photo.ts').Photo} Photo */

/** How much of the before photo is seen at first, hundredths. */
const SEEN = 45;
/** Quality of a picture taken from the stream, where the camera gives no photo of its own. */
const QUALITY = 0.92;

/** @returns {Promise<MediaStream | null>} */
async function open() {
  try {
    return await navigator.mediaDevices.getUserMedia({ audio: false, video: { facingMode: 'environment', width: { ideal: 4000 }, height: { ideal: 3000 } } });
  } catch {
    return null;
  }
}

/** The camera's own photo in full, or else what the stream shows. @param {MediaStream} stream @param {HTMLVideoElement} video @returns {Promise<Blob | null>} */
async function shoot(stream, video) {
  const track = stream.getVideoTracks()[0];
  const Capture = /** @type {any} */ (window).ImageCapture;
  if (Capture && track) {
    try {
      /** @type {Blob} */
      const photo = await new Capture(track).takePhoto();
      if (photo.type === 'image/jpeg' && photo.size > 0) return photo;
    } catch {
      // Some cameras refuse while they stream.
    }
  }
  const canvas = make('canvas', { attrs: { width: video.videoWidth, height: video.videoHeight } });
  canvas.getContext('2d')?.drawImage(video, 0, 0);
  return new Promise((done) => { canvas.toBlob(done, 'image/jpeg', QUALITY); });
}

/**
 * Opens the camera guided by a photo; false where there is none to open.
 * @param {Photo} before @param {(photo: Blob) => void} taken @param {() => void} other opens the phone's own camera
 */
export async function guided(before, taken, other) {
  const stream = navigator.mediaDevices ? await open() : null;
  if (!stream) return false;
  const video = make('video', { attrs: { autoplay: true, playsinline: true, muted: true, 'aria-label': say('photo_pair.camera') } });
  video.srcObject = stream;
  const ghost = make('img', { class: 'ghost', attrs: { src: photoUrl(before.sha256, 'large'), alt: `${say('photo_pair.before')}: ${before.shows}` } });
  const see = (/** @type {number} */ share) => { ghost.style.opacity = String(share / 100); };
  see(SEEN);
  const button = (/** @type {string} */ word, /** @type {string} */ look, /** @type {() => unknown} */ act) => make('button', { class: look, text: say(word), attrs: { type: 'button' }, on: { click: act } });
  const dialog = showDialog(say('photo_pair.take'),
    make('div', { class: 'frame finder' }, video, ghost),
    make('input', { attrs: { type: 'range', min: 0, max: 90, step: 5, value: SEEN, 'aria-label': say('photo_pair.ghost') }, on: { input: (event) => see(Number(event.target.value)) } }),
    make('div', { class: 'over-acts' },
      button('photo_pair.other_camera', '', () => { dialog.close(); other(); }),
      button('photo_pair.shoot', 'main', async () => {
        const photo = await shoot(stream, video);
        dialog.close();
        if (photo) taken(photo);
      })));
  dialog.addEventListener('close', () => stream.getTracks().forEach((track) => track.stop()));
  return true;
}
