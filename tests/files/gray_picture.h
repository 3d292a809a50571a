#pragma once

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <string>

#include "files/metadata.h"
#include "files/picture.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

namespace lull::files {

/// Samples and profile of a gray picture, linear and stretched, as Pillow reads what was written.
/// @param write  a writer of 16 bits, such as write_png16().
template <class Write>
void check_gray_picture(const std::string& name, const Write& write) {
  const test::TemporaryFolder folder;
  const std::string path = folder.file(name);
  Picture picture = make_picture({3, 1}, 1);
  picture.channels[0].row(0)[1] = 0.25F;
  picture.channels[0].row(0)[2] = 1;
  for (const Transfer transfer : {Transfer::linear, Transfer::screen}) {
    Metadata metadata;
    metadata.transfer = transfer;
    write(path, picture.view(), {}, metadata);
    const auto read = nlohmann::json::parse(test::reference_of("files/gray_picture.py", {path}));
    CHECK(read.at("mode").get<std::string>().starts_with("I"));
    CHECK(read.at("size") == nlohmann::json({3, 1}));
    CHECK(read.at("samples") == nlohmann::json({0, 16384, 65535}));
    const nlohmann::json& curve = read.at("curve");
    CHECK(curve.is_null() == (transfer == Transfer::linear));
    if (curve.is_null()) continue;
    // IEC 61966-2-1 as ICC.1:2010 writes it: ((x + 0.055) / 1.055)^2.4, and x / 12.92 up to
    // 0.04045.
    const double expected[] = {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};
    for (std::size_t i = 0; i < 5; ++i)
      CHECK(curve[i].get<double>() == doctest::Approx(expected[i]).epsilon(3e-4));
  }
}

}  // namespace lull::files
