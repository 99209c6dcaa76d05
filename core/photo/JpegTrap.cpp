// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/photo/JpegTrap.h"

#include <csetjmp>

// jpeglib.h wants stdio first.
#include <jerror.h>
#include <jpeglib.h>

namespace trammel::photo {
namespace {

constexpr int kMostScans = 200;  // a progressive picture has about ten; a hostile one makes work without end

struct Trap {
    jpeg_error_mgr manager;
    std::jmp_buf back;
    JpegOutcome outcome;
};

Trap* trapOf(j_common_ptr common) { return reinterpret_cast<Trap*>(common->err); }

[[noreturn]] void leave(j_common_ptr common) {
    Trap* trap = trapOf(common);
    if (trap->outcome == JpegOutcome::Good) switch (common->err->msg_code) {
            case JERR_NO_SOI:
            case JERR_NO_IMAGE:
            case JERR_EMPTY_IMAGE:
                trap->outcome = JpegOutcome::NoJpeg;
                break;
            case JERR_INPUT_EMPTY:
            case JERR_INPUT_EOF:
                trap->outcome = JpegOutcome::Truncated;
                break;
            case JERR_SOF_UNSUPPORTED:
            case JERR_BAD_PRECISION:
            case JERR_ARITH_NOTIMPL:
            case JERR_CONVERSION_NOTIMPL:
                trap->outcome = JpegOutcome::Unsupported;
                break;
            default:
                trap->outcome = JpegOutcome::Damaged;
        }
    std::longjmp(trap->back, 1);
}

/// The library would paint over these faults and go on; a measuring picture must be whole. Other warnings
/// (padding bytes between segments, odd colour markers) are common in sound files.
void hear(j_common_ptr common, int level) {
    if (level >= 0) return;
    Trap* trap = trapOf(common);
    switch (common->err->msg_code) {
        case JWRN_JPEG_EOF:
            trap->outcome = JpegOutcome::Truncated;
            leave(common);
        case JWRN_HIT_MARKER:
        case JWRN_HUFF_BAD_CODE:
        case JWRN_MUST_RESYNC:
            trap->outcome = JpegOutcome::Damaged;
            leave(common);
        default:
            break;
    }
}

void watchScans(j_common_ptr common) {
    if (!common->is_decompressor) return;
    if (reinterpret_cast<j_decompress_ptr>(common)->input_scan_number <= kMostScans) return;
    trapOf(common)->outcome = JpegOutcome::Damaged;
    leave(common);
}

void quiet(j_common_ptr) {}

void arm(jpeg_decompress_struct& jpeg, Trap& trap) {
    jpeg.err = jpeg_std_error(&trap.manager);
    trap.manager.error_exit = leave;
    trap.manager.emit_message = hear;
    trap.manager.output_message = quiet;
    trap.outcome = JpegOutcome::Good;
}

}  // namespace

JpegOutcome readJpegHeader(std::FILE* f, JpegHeader& header) {
    jpeg_decompress_struct jpeg;
    Trap trap;
    arm(jpeg, trap);
    if (setjmp(trap.back)) {
        jpeg_destroy_decompress(&jpeg);
        return trap.outcome;
    }
    jpeg_create_decompress(&jpeg);
    jpeg_stdio_src(&jpeg, f);
    jpeg_read_header(&jpeg, TRUE);
    header.width = static_cast<int>(jpeg.image_width);
    header.height = static_cast<int>(jpeg.image_height);
    header.components = jpeg.num_components;
    const JQUANT_TBL* table = jpeg.quant_tbl_ptrs[jpeg.comp_info[0].quant_tbl_no & 3];
    if (table) header.levelStep = static_cast<float>(table->quantval[0]) / 8.0f;
    jpeg_destroy_decompress(&jpeg);
    return JpegOutcome::Good;
}

int shrunk(int size, int shrink) { return (size + shrink - 1) / shrink; }

JpegOutcome readJpegPixels(std::FILE* f, int shrink, const JpegHeader& header, std::uint8_t* pixels) {
    jpeg_decompress_struct jpeg;
    jpeg_progress_mgr progress{};
    Trap trap;
    arm(jpeg, trap);
    if (setjmp(trap.back)) {
        jpeg_destroy_decompress(&jpeg);
        return trap.outcome;
    }
    jpeg_create_decompress(&jpeg);
    progress.progress_monitor = watchScans;
    jpeg.progress = &progress;
    jpeg_stdio_src(&jpeg, f);
    jpeg_read_header(&jpeg, TRUE);
    jpeg.out_color_space = header.components == 1 ? JCS_GRAYSCALE : JCS_RGB;
    jpeg.scale_num = 1;
    jpeg.scale_denom = static_cast<unsigned int>(shrink);
    jpeg_start_decompress(&jpeg);
    const int channels = header.components == 1 ? 1 : 3;
    if (static_cast<int>(jpeg.output_width) != shrunk(header.width, shrink) ||
        static_cast<int>(jpeg.output_height) != shrunk(header.height, shrink) ||
        jpeg.output_components != channels) {  // the file changed under our hands
        jpeg_destroy_decompress(&jpeg);
        return JpegOutcome::Damaged;
    }
    while (jpeg.output_scanline < jpeg.output_height) {
        JSAMPROW row = pixels + static_cast<std::size_t>(jpeg.output_scanline) * jpeg.output_width *
                                    static_cast<std::size_t>(channels);
        jpeg_read_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_decompress(&jpeg);  // reads on to the end marker
    jpeg_destroy_decompress(&jpeg);
    return JpegOutcome::Good;
}

}  // namespace trammel::photo
