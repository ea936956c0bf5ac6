package app.bowseam.field

import android.Manifest
import android.app.Activity
import android.content.ActivityNotFoundException
import android.content.ClipData
import android.content.Intent
import android.net.ConnectivityManager
import android.net.Uri
import android.os.Build
import android.provider.MediaStore
import android.view.WindowManager
import androidx.activity.result.ActivityResult
import androidx.core.content.FileProvider
import app.tauri.PermissionState
import app.tauri.annotation.ActivityCallback
import app.tauri.annotation.Command
import app.tauri.annotation.InvokeArg
import app.tauri.annotation.Permission
import app.tauri.annotation.PermissionCallback
import app.tauri.annotation.TauriPlugin
import app.tauri.plugin.Invoke
import app.tauri.plugin.JSArray
import app.tauri.plugin.JSObject
import app.tauri.plugin.Plugin
import java.io.File
import java.io.IOException
import java.util.concurrent.Executors

@InvokeArg
class PathArgs {
    lateinit var path: String
}

@InvokeArg
class PickArgs {
    lateinit var folder: String
    var most: Int = 1
}

@InvokeArg
class DecodeArgs {
    lateinit var from: String
    lateinit var to: String
    var longest: Int = 0
}

@InvokeArg
class AwakeArgs {
    var on: Boolean = false
}

@InvokeArg
class ShareArgs {
    lateinit var path: String
    lateinit var media: String
}

/** What only the phone can do, asked by src-tauri/src/phone.rs. Where it cannot, the refusal is a sentence. */
@TauriPlugin(
    permissions = [
        Permission(strings = [Manifest.permission.CAMERA], alias = "camera"),
        Permission(strings = [Manifest.permission.ACCESS_FINE_LOCATION, Manifest.permission.ACCESS_COARSE_LOCATION], alias = "position"),
    ]
)
class PhonePlugin(private val activity: Activity) : Plugin(activity) {
    /** For what takes longer than a frame: commands come on the window's own thread. */
    private val aside = Executors.newSingleThreadExecutor()
    private val position = Position(activity)

    private fun refuse(invoke: Invoke, code: String, sentence: Int) = invoke.reject(activity.getString(sentence), code)

    private fun shared(path: String): Uri = FileProvider.getUriForFile(activity, activity.packageName + ".fileprovider", File(path))

    // The camera. Its app is another one's: the manifest names the intent under queries. A declared permission has to be
    // granted before that app may be opened, so it is asked for first; refused, the gallery is still there.

    @Command
    fun takePicture(invoke: Invoke) {
        if (getPermissionState("camera") == PermissionState.GRANTED) openCamera(invoke)
        else requestPermissionForAlias("camera", invoke, "cameraAnswered")
    }

    @PermissionCallback
    fun cameraAnswered(invoke: Invoke) {
        if (getPermissionState("camera") == PermissionState.GRANTED) openCamera(invoke)
        else refuse(invoke, "camera_refused", R.string.camera_refused)
    }

    private fun openCamera(invoke: Invoke) {
        val file = File(invoke.parseArgs(PathArgs::class.java).path)
        val camera = Intent(MediaStore.ACTION_IMAGE_CAPTURE)
        if (camera.resolveActivity(activity.packageManager) == null) return refuse(invoke, "no_camera", R.string.no_camera_app)
        try {
            file.parentFile?.mkdirs()
            file.createNewFile()
            val place = shared(file.path)
            camera.putExtra(MediaStore.EXTRA_OUTPUT, place)
            // The grant goes with the clip, to whichever camera is opened.
            camera.clipData = ClipData.newRawUri("", place)
            camera.addFlags(Intent.FLAG_GRANT_WRITE_URI_PERMISSION or Intent.FLAG_GRANT_READ_URI_PERMISSION)
            startActivityForResult(invoke, camera, "pictureTaken")
        } catch (full: IOException) {
            refuse(invoke, "camera_file", R.string.camera_file)
        } catch (gone: ActivityNotFoundException) {
            refuse(invoke, "no_camera", R.string.no_camera_app)
        } catch (refused: SecurityException) {
            refuse(invoke, "camera_refused", R.string.camera_refused)
        }
    }

    /** Some cameras say *cancelled* after a photo was written, some say *taken* and wrote nothing: the file decides. */
    @ActivityCallback
    fun pictureTaken(invoke: Invoke, result: ActivityResult) {
        val file = File(invoke.parseArgs(PathArgs::class.java).path)
        invoke.resolve(JSObject().put("taken", file.length() > 0))
    }

    // The gallery. The system's picker needs no permission; it hands over the bytes, copied here before they can go.

    @Command
    fun pickPictures(invoke: Invoke) {
        val most = invoke.parseArgs(PickArgs::class.java).most
        val picker = if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.TIRAMISU) {
            Intent(MediaStore.ACTION_PICK_IMAGES).putExtra(MediaStore.EXTRA_PICK_IMAGES_MAX, most)
        } else {
            Intent(Intent.ACTION_OPEN_DOCUMENT).addCategory(Intent.CATEGORY_OPENABLE).putExtra(Intent.EXTRA_ALLOW_MULTIPLE, true)
        }
        picker.type = "image/*"
        try {
            startActivityForResult(invoke, picker, "picturesPicked")
        } catch (gone: ActivityNotFoundException) {
            refuse(invoke, "no_gallery", R.string.no_gallery)
        }
    }

    @ActivityCallback
    fun picturesPicked(invoke: Invoke, result: ActivityResult) {
        val args = invoke.parseArgs(PickArgs::class.java)
        val chosen = result.data.takeIf { result.resultCode == Activity.RESULT_OK }
        val clip = chosen?.clipData
        val uris = if (clip != null) List(clip.itemCount) { clip.getItemAt(it).uri } else listOfNotNull(chosen?.data)
        aside.execute {
            val files = JSArray()
            val wrong = JSArray()
            for (uri in uris.take(args.most)) {
                val name = Pictures.nameOf(activity, uri)
                val copy = Pictures.copy(activity, uri, File(args.folder))
                if (copy == null) wrong.put(name + ": " + activity.getString(R.string.photo_unreadable))
                else files.put(JSObject().put("path", copy.path).put("name", name))
            }
            invoke.resolve(JSObject().put("files", files).put("wrong", wrong))
        }
    }

    @Command
    fun decode(invoke: Invoke) {
        val args = invoke.parseArgs(DecodeArgs::class.java)
        aside.execute {
            if (Pictures.decode(File(args.from), File(args.to), args.longest)) invoke.resolve()
            else refuse(invoke, "cannot_decode", R.string.cannot_decode)
        }
    }

    // The phone itself.

    @Command
    fun state(invoke: Invoke) {
        val network = activity.getSystemService(ConnectivityManager::class.java)
        invoke.resolve(
            JSObject()
                .put("free", activity.filesDir.usableSpace)
                .put("metered", network?.isActiveNetworkMetered ?: false)
                .put("saver", SendWorker.savesData(activity))
                .put("reader", reader().resolveActivity(activity.packageManager) != null)
        )
    }

    @Command
    fun keepAwake(invoke: Invoke) {
        val on = invoke.parseArgs(AwakeArgs::class.java).on
        if (on) activity.window.addFlags(WindowManager.LayoutParams.FLAG_KEEP_SCREEN_ON)
        else activity.window.clearFlags(WindowManager.LayoutParams.FLAG_KEEP_SCREEN_ON)
        invoke.resolve()
    }

    @Command
    fun share(invoke: Invoke) {
        val args = invoke.parseArgs(ShareArgs::class.java)
        val file = shared(args.path)
        val send = Intent(Intent.ACTION_SEND)
        send.type = args.media
        send.putExtra(Intent.EXTRA_STREAM, file)
        send.clipData = ClipData.newRawUri("", file)
        send.addFlags(Intent.FLAG_GRANT_READ_URI_PERMISSION)
        try {
            activity.startActivity(Intent.createChooser(send, activity.getString(R.string.share_packet)))
            invoke.resolve()
        } catch (gone: ActivityNotFoundException) {
            refuse(invoke, "share_none", R.string.share_none)
        }
    }

    // Where the phone is: only when a page asks, which it does when the person presses the button that says so.

    @Command
    fun position(invoke: Invoke) {
        if (position.granted()) position.now(invoke)
        else requestPermissionForAlias("position", invoke, "positionAnswered")
    }

    /** The person may have given the rough position only; that is an answer too. */
    @PermissionCallback
    fun positionAnswered(invoke: Invoke) {
        if (position.granted()) position.now(invoke)
        else refuse(invoke, "position_refused", R.string.position_refused)
    }

    // Barcodes: read by an app that does it for others, where there is one.

    private fun reader() = Intent("com.google.zxing.client.android.SCAN")

    @Command
    fun scan(invoke: Invoke) {
        try {
            startActivityForResult(invoke, reader(), "scanned")
        } catch (gone: ActivityNotFoundException) {
            refuse(invoke, "no_reader", R.string.no_reader)
        }
    }

    @ActivityCallback
    fun scanned(invoke: Invoke, result: ActivityResult) {
        invoke.resolve(JSObject().put("text", result.data?.getStringExtra("SCAN_RESULT") ?: ""))
    }
}
