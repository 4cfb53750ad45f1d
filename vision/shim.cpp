#include "shim.h"

#include "tag36h11.h"

#include <opencv2/aruco.hpp>
#include <opencv2/core.hpp>

namespace
{

/* Built from our own table rather than OpenCV's, whose 36h11 patterns stand upside down in some
 * versions and not in others. */
cv::Ptr<cv::aruco::Dictionary> make_dictionary(int id_count)
{
    const int side = 6;
    cv::Mat bytes;
    for (int id = 0; id < id_count; id++) {
        cv::Mat bits(side, side, CV_8UC1);
        for (int row = 0; row < side; row++)
            for (int column = 0; column < side; column++)
                bits.at<uchar>(row, column) =
                    tag36h11_cell_is_white(id, row + 2, column + 2) ? 1 : 0;
        bytes.push_back(cv::aruco::Dictionary::getByteListFromBits(bits));
    }
    const int correctable_bits = 5; /* minimum distance of the family is 11 */
    return cv::makePtr<cv::aruco::Dictionary>(bytes, side, correctable_bits);
}

} // namespace

enum shim_status shim_find_markers(const uint8_t *grey, int width, int height, size_t stride,
                                   struct shim_windows windows, int id_count,
                                   struct shim_marker *out, int cap, int *n)
{
    *n = 0;
    try {
        cv::setNumThreads(1); /* photos run in parallel, one thread each */
        const cv::Mat picture(height, width, CV_8UC1, const_cast<uint8_t *>(grey), stride);
        std::vector<std::vector<cv::Point2f>> corners;
        std::vector<int> ids;
        auto parameters = cv::aruco::DetectorParameters::create();
        parameters->adaptiveThreshWinSizeMin = windows.smallest_px;
        parameters->adaptiveThreshWinSizeMax = windows.largest_px;
        parameters->adaptiveThreshWinSizeStep = 10;
        parameters->minMarkerPerimeterRate = 0.025;
        /* else the outline of the white quiet zone drives out that of the black square; one id may
         * then come back twice */
        parameters->minMarkerDistanceRate = 0.01;
        cv::aruco::detectMarkers(picture, make_dictionary(id_count), corners, ids, parameters);
        for (size_t i = 0; i < ids.size() && i < (size_t)cap; i++) {
            out[i].id = ids[i];
            for (int k = 0; k < 4; k++) {
                out[i].x[k] = corners[i][k].x;
                out[i].y[k] = corners[i][k].y;
            }
        }
        *n = (int)ids.size();
        return *n > cap ? SHIM_FULL : SHIM_OK;
    } catch (...) {
        return SHIM_FAILED;
    }
}
