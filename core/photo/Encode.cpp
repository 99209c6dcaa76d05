// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/Encode.h"

#include <csetjmp>
#include <cstdio>
#include <cstdlib>
#include <fstream>

#include <jpeglib.h>

namespace trammel::photo {
namespace {

/// libjpeg leaves through here instead of ending the program.
struct Handler {
    jpeg_error_mgr base;
    std::jmp_buf back;
};

void leave(j_common_ptr info) { std::longjmp(reinterpret_cast<Handler*>(info->err)->back, 1); }
void keepQuiet(j_common_ptr) {}

void setUp(jpeg_compress_struct& info, const Image& image, int quality, Chroma chroma) {
    info.image_width = static_cast<JDIMENSION>(image.width);
    info.image_height = static_cast<JDIMENSION>(image.height);
    info.input_components = image.channels;
    info.in_color_space = image.channels == 3 ? JCS_RGB : JCS_GRAYSCALE;
    jpeg_set_defaults(&info);
    jpeg_set_quality(&info, quality, TRUE);
    info.optimize_coding = TRUE;
    for (int i = 0; i < info.num_components; ++i)
        info.comp_info[i].h_samp_factor = info.comp_info[i].v_samp_factor = 1;
    if (chroma == Chroma::Halved && info.num_components == 3)
        info.comp_info[0].h_samp_factor = info.comp_info[0].v_samp_factor = 2;
}

/// Compressed bytes in memory that the caller frees; false when libjpeg gives up. No object with a destructor
/// lives here, because longjmp would skip it.
bool compress(const Image& image, int quality, Chroma chroma, unsigned char** bytes, unsigned long* size) {
    jpeg_compress_struct info;
    Handler handler;
    info.err = jpeg_std_error(&handler.base);
    handler.base.error_exit = leave;
    handler.base.output_message = keepQuiet;
    if (setjmp(handler.back)) {
        jpeg_destroy_compress(&info);
        return false;
    }
    jpeg_create_compress(&info);
    jpeg_mem_dest(&info, bytes, size);
    setUp(info, image, quality, chroma);
    jpeg_start_compress(&info, TRUE);
    while (info.next_scanline < info.image_height) {
        JSAMPROW row = const_cast<JSAMPROW>(image.at(0, static_cast<int>(info.next_scanline)));
        jpeg_write_scanlines(&info, &row, 1);
    }
    jpeg_finish_compress(&info);
    jpeg_destroy_compress(&info);
    return true;
}

bool plausible(const Image& image) {
    if (image.width < 1 || image.height < 1 || image.width > JPEG_MAX_DIMENSION ||
        image.height > JPEG_MAX_DIMENSION)
        return false;
    const auto size = static_cast<std::size_t>(image.width) * image.height * image.channels;
    return (image.channels == 1 || image.channels == 3) && image.data.size() == size;
}

}  // namespace

Result<void> encodeJpeg(const Image& image, const std::filesystem::path& file, int quality, Chroma chroma) {
    if (!plausible(image) || quality < 1 || quality > 100)
        return Error{ErrorCode::BadValue, "this picture cannot be stored as JPEG", file.filename().string(),
                     "give it 1 or 3 channels, up to 65500 px a side, and a quality of 1 to 100"};
    unsigned char* bytes = nullptr;
    unsigned long size = 0;
    const bool done = compress(image, quality, chroma, &bytes, &size);
    std::ofstream out;
    if (done) {
        out.open(file, std::ios::binary);
        out.write(reinterpret_cast<const char*>(bytes), static_cast<std::streamsize>(size));
        out.close();
    }
    std::free(bytes);
    if (!done || !out)
        return Error{ErrorCode::WriteFailed, "the photograph cannot be written", file.filename().string(),
                     "check the folder and the free space"};
    return {};
}

}  // namespace trammel::photo
