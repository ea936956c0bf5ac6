package app.bowseam.field

/** The core in the native library, for code that runs without a window. The other side is src-tauri/src/worker.rs. */
object Core {
    /** All that could be sent is sent. */
    const val DONE = 0

    /** There is more to send at once. */
    const val MORE = 1

    /** Not now: no network, or an office that is off. */
    const val LATER = 2

    init {
        System.loadLibrary("bowseam_shell")
    }

    /**
     * One round of sending from the data in this folder; no new request is begun after so many seconds. `metered` is 1
     * where the network costs money, else 0.
     */
    @JvmStatic
    external fun sendRound(folder: String, seconds: Int, metered: Int): Int
}
