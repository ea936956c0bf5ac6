package app.bowseam.field

import android.content.Context
import android.graphics.Bitmap
import android.graphics.BitmapFactory
import android.graphics.ImageDecoder
import android.net.Uri
import android.os.Build
import android.provider.OpenableColumns
import java.io.File
import java.io.IOException
import java.util.UUID
import kotlin.math.max

/** Photos of the gallery, and those that only the phone can decode. */
object Pictures {
    private const val QUALITY = 92

    /** What the gallery calls it. */
    fun nameOf(context: Context, uri: Uri): String {
        val columns = arrayOf(OpenableColumns.DISPLAY_NAME)
        val found = try {
            context.contentResolver.query(uri, columns, null, null, null)?.use { if (it.moveToFirst()) it.getString(0) else null }
        } catch (gone: RuntimeException) {
            null
        }
        return found ?: uri.lastPathSegment ?: "photo"
    }

    /** Its bytes, copied into a new file of this folder; null where they are not to be had. */
    fun copy(context: Context, uri: Uri, folder: File): File? {
        val copy = File(folder, UUID.randomUUID().toString())
        try {
            val from = context.contentResolver.openInputStream(uri) ?: return null
            from.use { bytes -> copy.outputStream().use { bytes.copyTo(it) } }
            return copy
        } catch (gone: IOException) {
            copy.delete()
        } catch (refused: SecurityException) {
            copy.delete()
        }
        return null
    }

    /** An upright JPEG of a file that the phone can decode (HEIC); false where it cannot. Never larger than needed. */
    fun decode(from: File, to: File, longest: Int): Boolean {
        try {
            val picture = (if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.P) decoded(from, longest) else BitmapFactory.decodeFile(from.path)) ?: return false
            to.outputStream().use { return picture.compress(Bitmap.CompressFormat.JPEG, QUALITY, it) }
        } catch (cannot: IOException) {
            return false
        } catch (large: OutOfMemoryError) {
            return false
        }
    }

    private fun decoded(from: File, longest: Int): Bitmap? =
        ImageDecoder.decodeBitmap(ImageDecoder.createSource(from)) { decoder, info, _ ->
            decoder.allocator = ImageDecoder.ALLOCATOR_SOFTWARE
            val side = max(info.size.width, info.size.height)
            if (side > longest) {
                val share = longest.toDouble() / side
                decoder.setTargetSize(max(1, (info.size.width * share).toInt()), max(1, (info.size.height * share).toInt()))
            }
        }
}
