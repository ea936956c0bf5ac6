import java.util.Properties
import org.jetbrains.kotlin.gradle.dsl.JvmTarget

plugins {
    id("com.android.application")
    id("org.jetbrains.kotlin.android")
    id("rust")
}

fun properties(name: String, parent: File = projectDir) = Properties().apply {
    val file = File(parent, name)
    if (file.exists()) file.inputStream().use { load(it) }
}

// Written by the Tauri command line from tauri.conf.json.
val tauri = properties("tauri.properties")
// The key of the person who builds: storeFile, storePassword, keyAlias, keyPassword. src-tauri/build-android says how.
val key = properties("keystore.properties", rootDir)

android {
    compileSdk = 36
    namespace = "app.bowseam.field"
    defaultConfig {
        applicationId = "app.bowseam.field"
        minSdk = 26
        targetSdk = 36
        versionCode = tauri.getProperty("tauri.android.versionCode", "1").toInt()
        versionName = tauri.getProperty("tauri.android.versionName", "1.0")
    }
    signingConfigs {
        if (key.containsKey("storeFile")) create("person") {
            storeFile = file(key.getProperty("storeFile"))
            storePassword = key.getProperty("storePassword")
            keyAlias = key.getProperty("keyAlias")
            keyPassword = key.getProperty("keyPassword")
        }
    }
    buildTypes {
        getByName("debug") {
            isMinifyEnabled = false
            packaging { jniLibs.keepDebugSymbols.add("**/*.so") }
        }
        getByName("release") {
            isDebuggable = false
            signingConfig = signingConfigs.findByName("person")
            optimization { enable = true }
            proguardFiles(*fileTree(".") { include("**/*.pro"); exclude("build/**") }.files.toTypedArray())
        }
    }
    compileOptions {
        sourceCompatibility = JavaVersion.VERSION_1_8
        targetCompatibility = JavaVersion.VERSION_1_8
    }
    buildFeatures { buildConfig = true }
}

kotlin {
    compilerOptions { jvmTarget = JvmTarget.JVM_1_8 }
}

rust {
    rootDirRel = "../../../"
}

dependencies {
    implementation("androidx.webkit:webkit:1.14.0")
    implementation("androidx.appcompat:appcompat:1.7.1")
    implementation("androidx.activity:activity-ktx:1.10.1")
    implementation("androidx.lifecycle:lifecycle-process:2.10.0")
    // Sending in the background. The version is from memory.
    implementation("androidx.work:work-runtime:2.10.0")
}

apply(from = file("tauri.build.gradle.kts"))
