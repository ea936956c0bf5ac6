package app.bowseam.field

import android.Manifest
import android.annotation.SuppressLint
import android.content.Context
import android.content.pm.PackageManager
import android.location.Location
import android.location.LocationListener
import android.location.LocationManager
import android.os.Build
import android.os.Bundle
import android.os.Handler
import android.os.Looper
import app.tauri.plugin.Invoke
import app.tauri.plugin.JSObject

/** One position, once, by the phone's own receiver: nothing is followed and nothing is asked of a service. */
class Position(private val context: Context) {
    private val manager = context.getSystemService(LocationManager::class.java)

    fun granted() = NEEDED.any { context.checkSelfPermission(it) == PackageManager.PERMISSION_GRANTED }

    /** Answers the first position that comes, or a sentence after half a minute. */
    @SuppressLint("MissingPermission")
    fun now(invoke: Invoke) {
        val provider = PROVIDERS.firstOrNull { manager?.isProviderEnabled(it) == true }
        if (manager == null || provider == null) return refuse(invoke, "position_off", R.string.position_off)
        val clock = Handler(Looper.getMainLooper())
        var open = true
        val listener = object : LocationListener {
            override fun onLocationChanged(location: Location) = once { invoke.resolve(told(location)) }

            override fun onProviderDisabled(provider: String) = once { refuse(invoke, "position_off", R.string.position_off) }

            // Called by phones before Android 10, where they have no body of their own.
            override fun onProviderEnabled(provider: String) = Unit

            @Deprecated("phones before Android 10 call it")
            override fun onStatusChanged(provider: String?, status: Int, extras: Bundle?) = Unit

            fun once(answer: () -> Unit) {
                if (!open) return
                open = false
                manager.removeUpdates(this)
                answer()
            }
        }
        try {
            manager.requestLocationUpdates(provider, 0L, 0f, listener, Looper.getMainLooper())
        } catch (rough: SecurityException) {
            // Before Android 12 satellites want the fine position, and only the rough one was given.
            return refuse(invoke, "position_refused", R.string.position_refused)
        }
        clock.postDelayed({ listener.once { refuse(invoke, "position_none", R.string.position_none) } }, LONGEST_MS)
    }

    private fun told(location: Location) = JSObject()
        .put("latitude", location.latitude)
        .put("longitude", location.longitude)
        .put("within", location.accuracy.toDouble())

    private fun refuse(invoke: Invoke, code: String, sentence: Int) = invoke.reject(context.getString(sentence), code)

    private companion object {
        const val LONGEST_MS = 30_000L
        val NEEDED = listOf(Manifest.permission.ACCESS_FINE_LOCATION, Manifest.permission.ACCESS_COARSE_LOCATION)

        /** The system's best first, where it has one (from Android 12), then satellites, then the network. */
        val PROVIDERS = listOfNotNull(
            if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.S) LocationManager.FUSED_PROVIDER else null,
            LocationManager.GPS_PROVIDER,
            LocationManager.NETWORK_PROVIDER,
        )
    }
}
