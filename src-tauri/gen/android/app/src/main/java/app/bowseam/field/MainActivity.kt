package app.bowseam.field

import android.app.AlertDialog
import android.content.res.Configuration
import android.os.Bundle
import android.view.View
import android.view.ViewGroup
import android.webkit.JavascriptInterface
import android.webkit.WebView
import androidx.activity.enableEdgeToEdge
import androidx.core.view.ViewCompat
import androidx.core.view.WindowInsetsCompat

/**
 * The one window. It draws to all edges: what bars and cut-outs cover is told to the pages, which keep that much room
 * (ui/parts/phone.js); what the keyboard covers is taken off the web view, so that a field is never under it.
 */
class MainActivity : TauriActivity() {
    /** Sides in CSS pixels: top, right, bottom, left. Written on the window's thread, read on the web view's. */
    @Volatile
    private var sides = "[0,0,0,0]"

    override fun onCreate(savedInstanceState: Bundle?) {
        enableEdgeToEdge()
        super.onCreate(savedInstanceState)
        WebView.setWebContentsDebuggingEnabled(BuildConfig.DEBUG)
        refuseOldWebView()
    }

    override fun onWebViewCreate(webView: WebView) {
        webView.addJavascriptInterface(this.Edges(), "bowseamEdges")
        webView.settings.textZoom = textZoom(resources.configuration)
        ViewCompat.setOnApplyWindowInsetsListener(webView) { view, insets ->
            val edges = insets.getInsets(WindowInsetsCompat.Type.systemBars() or WindowInsetsCompat.Type.displayCutout())
            val keyboard = insets.getInsets(WindowInsetsCompat.Type.ime()).bottom
            (view.parent as? View)?.setPadding(0, 0, 0, keyboard)
            val one = resources.displayMetrics.density
            val bottom = if (keyboard > 0) 0 else edges.bottom
            sides = listOf(edges.top, edges.right, bottom, edges.left).joinToString(",", "[", "]") { (it / one).toInt().toString() }
            webView.evaluateJavascript("dispatchEvent(new Event('bowseam-edges'))", null)
            WindowInsetsCompat.CONSUMED
        }
    }

    override fun onConfigurationChanged(newConfig: Configuration) {
        super.onConfigurationChanged(newConfig)
        pages()?.settings?.textZoom = textZoom(newConfig)
    }

    override fun onStop() {
        super.onStop()
        SendWorker.plan(this)
    }

    override fun onStart() {
        super.onStart()
        SendWorker.rest(this)
    }

    /** Letters as large as the person set them on the phone. */
    private fun textZoom(configuration: Configuration) = (configuration.fontScale * 100).toInt()

    private fun pages(): WebView? = window.decorView.findWithin { it is WebView } as WebView?

    /** The pages need a web view of the last years, which a phone gets as an update of its own. */
    private fun refuseOldWebView() {
        val installed = WebView.getCurrentWebViewPackage()?.versionName ?: return
        val major = installed.substringBefore('.').toIntOrNull() ?: return
        if (major >= LEAST_WEB_VIEW) return
        AlertDialog.Builder(this)
            .setMessage(getString(R.string.web_view_old, installed, LEAST_WEB_VIEW))
            .setCancelable(false)
            .setPositiveButton(R.string.close) { _, _ -> finish() }
            .show()
    }

    /** What a page asks when it opens, before anything has changed. */
    inner class Edges {
        @JavascriptInterface
        fun sides() = this@MainActivity.sides
    }

    companion object {
        /** Checked against what ui/ uses by tests/android/check. */
        const val LEAST_WEB_VIEW = 111
    }
}

private fun View.findWithin(fits: (View) -> Boolean): View? {
    if (fits(this)) return this
    val group = this as? ViewGroup ?: return null
    return (0 until group.childCount).firstNotNullOfOrNull { group.getChildAt(it).findWithin(fits) }
}
