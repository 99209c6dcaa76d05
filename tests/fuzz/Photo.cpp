// SPDX-License-Identifier: GPL-3.0-or-later
// One reader of photographs under random bytes (libFuzzer). TRAMMEL_FUZZ_FORMAT is the format that the target
// is about: bytes of another are dropped at once, so that each target keeps to its reader.
#include <sys/mman.h>
#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "core/photo/Decode.h"
#include "core/photo/Exif.h"
#include "core/photo/FileFormat.h"

using namespace trammel::photo;

namespace {

/// The bytes as a file, which is what readers take.
class FileOf {
  public:
    FileOf(const std::uint8_t* data, std::size_t size) : file_(memfd_create("photo", 0)) {
        if (file_ < 0 || write(file_, data, size) != static_cast<ssize_t>(size)) std::abort();
    }
    ~FileOf() { close(file_); }
    FileOf(const FileOf&) = delete;
    FileOf& operator=(const FileOf&) = delete;
    std::string path() const { return "/proc/self/fd/" + std::to_string(file_); }

  private:
    int file_;
};

/// What a reader hands out must hang together.
void check(const trammel::Result<Image>& image) {
    if (!image) {
        if (image.error().sentence().empty()) std::abort();
        return;
    }
    const std::size_t count = static_cast<std::size_t>(image->width) *
                              static_cast<std::size_t>(image->height) *
                              static_cast<std::size_t>(image->channels);
    if (image->data.size() != count || (image->isDeep() && image->deep.size() != count)) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const FileOf file(data, size);
    const auto format = formatOf(file.path());
    if (!format || *format != FileFormat::TRAMMEL_FUZZ_FORMAT) return 0;
    const auto stored = storedSize(file.path());
    // Large claims are sound work for minutes; only their headers are looked at.
    if (!stored || static_cast<double>(stored->width) * stored->height > 4e6) return 0;
    check(decode(file.path()));
    check(decode(file.path(), 8));
    (void)readExif(file.path());
    (void)preview(file.path());
    return 0;
}
