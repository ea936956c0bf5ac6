import java.io.File
import javax.inject.Inject
import org.gradle.api.DefaultTask
import org.gradle.api.GradleException
import org.gradle.api.tasks.Input
import org.gradle.api.tasks.TaskAction
import org.gradle.process.ExecOperations

/** Builds the core for one kind of processor: asks the Tauri command line, which src-tauri/build-android names. */
abstract class BuildTask : DefaultTask() {
    @get:Inject
    abstract val execOperations: ExecOperations

    @Input
    var rootDirRel: String? = null
    @Input
    var projectDir: String? = null
    @Input
    var target: String? = null
    @Input
    var release: Boolean? = null

    @TaskAction
    fun assemble() {
        val root = rootDirRel ?: throw GradleException("rootDirRel cannot be null")
        val target = target ?: throw GradleException("target cannot be null")
        val words = mutableListOf("android", "android-studio-script", "--target", target)
        if (release == true) words.add("--release")
        execOperations.exec {
            workingDir(File(projectDir, root))
            executable(System.getenv("BOWSEAM_TAURI") ?: "tauri")
            args(words)
        }.assertNormalExitValue()
    }
}
