package app.bowseam.field

import android.content.Context
import android.net.ConnectivityManager
import android.os.SystemClock
import androidx.work.BackoffPolicy
import androidx.work.Constraints
import androidx.work.ExistingPeriodicWorkPolicy
import androidx.work.ExistingWorkPolicy
import androidx.work.NetworkType
import androidx.work.OneTimeWorkRequest
import androidx.work.PeriodicWorkRequest
import androidx.work.WorkManager
import androidx.work.Worker
import androidx.work.WorkerParameters
import java.io.File
import java.util.concurrent.TimeUnit

/**
 * Sends while no screen is shown: the web view pauses in the background, so the core is called without one. It is an
 * ordinary job of the system, at most eight of its ten minutes at a time, never a service in the foreground: those are
 * held to six hours a day from Android 15, and would need a notification. Stopped anywhere, the next job goes on from
 * where the office says it is.
 */
class SendWorker(context: Context, given: WorkerParameters) : Worker(context, given) {
    override fun doWork(): Result {
        if (savesData(applicationContext)) return Result.retry()
        val folder = data(applicationContext).absolutePath
        val end = SystemClock.elapsedRealtime() + TimeUnit.MINUTES.toMillis(LONGEST_MINUTES)
        while (!isStopped && SystemClock.elapsedRealtime() < end) {
            when (Core.sendRound(folder, ROUND_SECONDS, metered(applicationContext))) {
                Core.DONE -> return Result.success()
                Core.LATER -> return Result.retry()
            }
        }
        return Result.retry()
    }

    companion object {
        /** A round begins no request after this, so that a stop is soon obeyed. */
        private const val ROUND_SECONDS = 15
        private const val LONGEST_MINUTES = 8L
        private const val SOON = "send"
        private const val NOW_AND_THEN = "look"
        private const val ON_WIFI = "wifi"

        /** The folder of the core; src-tauri/src/lib.rs opens the same. */
        fun data(context: Context) = File(context.filesDir, "bowseam")

        /** The person saves data and the network that is there costs money. */
        fun savesData(context: Context): Boolean {
            val network = context.getSystemService(ConnectivityManager::class.java) ?: return false
            return network.isActiveNetworkMetered &&
                network.restrictBackgroundStatus == ConnectivityManager.RESTRICT_BACKGROUND_STATUS_ENABLED
        }

        /** 1 where the network that is there costs money, or nobody knows. */
        private fun metered(context: Context) =
            if (context.getSystemService(ConnectivityManager::class.java)?.isActiveNetworkMetered != false) 1 else 0

        /** With a network, and not on the last of the battery. */
        private fun wanted(network: NetworkType = NetworkType.CONNECTED) = Constraints.Builder()
            .setRequiredNetworkType(network)
            .setRequiresBatteryNotLow(true)
            .build()

        /** The app is left: what waits is sent soon, and now and then the office is asked what it decided. */
        fun plan(context: Context) {
            val work = WorkManager.getInstance(context)
            val soon = OneTimeWorkRequest.Builder(SendWorker::class.java)
                .setConstraints(wanted())
                .setBackoffCriteria(BackoffPolicy.EXPONENTIAL, 1, TimeUnit.MINUTES)
                .build()
            work.enqueueUniqueWork(SOON, ExistingWorkPolicy.REPLACE, soon)
            // Photos may wait for a network that costs nothing: they go as soon as one is there.
            val onWifi = OneTimeWorkRequest.Builder(SendWorker::class.java)
                .setConstraints(wanted(NetworkType.UNMETERED))
                .setBackoffCriteria(BackoffPolicy.EXPONENTIAL, 1, TimeUnit.MINUTES)
                .build()
            work.enqueueUniqueWork(ON_WIFI, ExistingWorkPolicy.REPLACE, onWifi)
            val look = PeriodicWorkRequest.Builder(SendWorker::class.java, 1, TimeUnit.HOURS)
                .setConstraints(wanted())
                .build()
            work.enqueueUniquePeriodicWork(NOW_AND_THEN, ExistingPeriodicWorkPolicy.KEEP, look)
        }

        /** The app is open: it sends by itself. */
        fun rest(context: Context) {
            WorkManager.getInstance(context).cancelUniqueWork(SOON)
            WorkManager.getInstance(context).cancelUniqueWork(ON_WIFI)
        }
    }
}
